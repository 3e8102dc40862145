using System.CommandLine;
using LibraryShelf.Cli.Check;
using LibraryShelf.Cli.Compare;
using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Pack;
using LibraryShelf.Cli.Send;
using LibraryShelf.Cli.Update;
using LibraryShelf.Cli.Verify;

namespace LibraryShelf.Cli;

/// <summary>Every command of `shelf`, one line each; a command's options and its work are in the folder of its name.</summary>
internal static class ShelfCommands
{
    public static RootCommand Create(ShelfConsole console) => new("Packs, checks, verifies and sends a library from the maker's own machine.")
    {
        PackCommand.Create(console),
        CheckCommand.Create(console),
        CompareCommand.Create(console),
        SendCommand.Create(console),
        VerifyCommand.Create(console),
        UpdateCommand.Create(console),
    };

    /// <summary>Runs one command line. Answers 0 (fine), 1 (found something) or 2 (could not run, said on the error stream).</summary>
    public static async Task<int> RunAsync(string[] args, ShelfConsole console, CancellationToken cancellationToken)
    {
        var parsed = Create(console).Parse(args);
        if (parsed.Errors.Count > 0)
            return console.Refuse(string.Join(' ', parsed.Errors.Select(e => e.Message)) + " Try `shelf --help`.");
        var streams = new InvocationConfiguration { Output = console.Out, Error = console.Error, EnableDefaultExceptionHandler = false };
        return await parsed.InvokeAsync(streams, cancellationToken);
    }
}

using System.Text.Json;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Tests.Output;

/// <summary>One command line, run in this process: its exit code and what it said on either stream.</summary>
internal sealed record Ran(int ExitCode, string Out, string Error)
{
    public static async Task<Ran> ShelfAsync(params string[] arguments) => await ShelfAsync(onTerminal: false, arguments);

    public static async Task<Ran> ShelfAsync(bool onTerminal, params string[] arguments)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var error = new StringWriter { NewLine = "\n" };
        var exitCode = await ShelfCommands.RunAsync(arguments, new ShelfConsole(output, error, onTerminal), CancellationToken.None);
        return new Ran(exitCode, output.ToString(), error.ToString());
    }

    public JsonElement Json() => JsonDocument.Parse(Out).RootElement;
}

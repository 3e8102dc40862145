using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Verify;

/// <summary>`shelf verify ARCHIVE-OR-DIR`: is every file what its maker packed?</summary>
internal static class VerifyCommand
{
    public static Command Create(ShelfConsole console)
    {
        var command = new Command("verify", "Verifies a library's archive or folder against its checksums.");
        command.SetAction((_, _) => Task.FromResult(console.Refuse("verify is not built yet.")));
        return command;
    }
}

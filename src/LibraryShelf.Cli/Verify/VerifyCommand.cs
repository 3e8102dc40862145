using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Verify;

/// <summary>`shelf verify ARCHIVE-OR-DIR`: is every file what its maker packed?</summary>
internal static class VerifyCommand
{
    public static Command Create(ShelfConsole console)
    {
        var target = new Argument<string>("ARCHIVE-OR-DIR") { Description = "An archive (.zip), or the folder that was unzipped from one." };
        var json = ShelfConsole.JsonOption();
        var command = new Command("verify", "Verifies a library's archive or folder against its checksums.") { target, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var path = parsed.GetRequiredValue(target);
            var verified = Directory.Exists(path)
                ? await new FolderVerifier(console).RunAsync(path, cancellationToken)
                : await new ArchiveVerifier(console).RunAsync(path, cancellationToken);
            VerifyReport.Print(console, path, verified, parsed.GetValue(json));
            return verified.Discrepancies.Count == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }
}

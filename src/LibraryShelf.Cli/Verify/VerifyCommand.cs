using System.CommandLine;
using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Update;

namespace LibraryShelf.Cli.Verify;

/// <summary>`shelf verify ARCHIVE-OR-DIR [--against URL]`: is every file what its maker packed, and which version is it?</summary>
internal static class VerifyCommand
{
    public static Command Create(ShelfConsole console)
    {
        var target = new Argument<string>("ARCHIVE-OR-DIR") { Description = "An archive (.zip), or the folder that was unzipped from one." };
        var json = ShelfConsole.JsonOption();
        var against = new Option<string?>("--against") { Description = "A box's address: which of its versions is this, or between which is it an update? Nothing of it is sent.", HelpName = "URL" };
        var command = new Command("verify", "Verifies a library's archive or folder against its checksums.") { target, against, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var path = parsed.GetRequiredValue(target);
            if (!Path.Exists(path) && UpdatePlaces.AreLeft(Path.TrimEndingDirectorySeparator(path)))
                throw new CouldNotRunException($"an update of {path} was cut off between two steps. Nothing is lost. Run the same `shelf update` again; it puts the folder back and goes on.");
            if (parsed.GetValue(against) is { } url)
                return await new AgainstShelf(console).RunAsync(path, url, parsed.GetValue(json), cancellationToken);
            var verified = Directory.Exists(path)
                ? await new FolderVerifier(console).RunAsync(path, cancellationToken)
                : await new ArchiveVerifier(console).RunAsync(path, cancellationToken);
            VerifyReport.Print(console, path, verified, parsed.GetValue(json));
            return verified.Discrepancies.Count == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }
}

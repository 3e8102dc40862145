using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>`shelf update DIR ARCHIVE`: makes an unzipped library into the version that the archive updates to.</summary>
internal static class UpdateCommand
{
    public static Command Create(ShelfConsole console)
    {
        var folder = new Argument<string>("DIR") { Description = "The library's folder, or the one it lies in." };
        var archive = new Argument<string>("ARCHIVE") { Description = "An update archive from the version in the folder, or a whole library." };
        var json = ShelfConsole.JsonOption();
        var command = new Command("update", "Updates a library's folder exactly. Your own files in it stay.") { folder, archive, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var updated = await new FolderUpdater(console).RunAsync(parsed.GetRequiredValue(folder), parsed.GetRequiredValue(archive), cancellationToken);
            UpdateReport.Print(console, updated, parsed.GetValue(json));
            return updated.Discrepancies.Count + updated.KeptAside.Count == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }
}

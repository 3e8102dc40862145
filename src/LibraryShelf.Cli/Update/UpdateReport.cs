using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>The shape "libraryshelf/update/1". <paramref name="Written"/> counts files out of the archive, <paramref name="Kept"/> those that stayed.</summary>
internal sealed record UpdateJson(
    string Schema, string Path, bool Updated, int Written, int Kept, IReadOnlyList<string> Removed, IReadOnlyList<string> Own, IReadOnlyList<Discrepancy> Discrepancies,
    IReadOnlyList<string> KeptAside)
{
    public static UpdateJson Of(Updated updated) => new("libraryshelf/update/1", updated.Folder, updated.Changed,
        updated.Plan?.Files.Count(f => f.From is null) ?? 0, updated.Plan?.Files.Count(f => f.From is not null) ?? 0,
        updated.Plan?.Removed ?? [], updated.Plan?.Own ?? [], updated.Discrepancies, updated.KeptAside);
}

/// <summary>Says what an update came to. Stable for scripts: schema libraryshelf/update/1.</summary>
internal static class UpdateReport
{
    public static void Print(ShelfConsole console, Updated updated, bool json)
    {
        var report = UpdateJson.Of(updated);
        if (json)
        {
            console.Json(report, ResultJson.Printed.UpdateJson);
            return;
        }
        foreach (var found in updated.Discrepancies)
            console.Say($"{found.Kind.ToString().ToLowerInvariant()}: {found.Path}: {found.Message}");
        if (updated.Discrepancies.Count > 0)
            console.Say($"{updated.Folder}: these files are not as they were packed, so nothing was changed. Put them back or fetch the whole library.");
        else if (!updated.Changed)
            console.Say($"{updated.Folder}: it is this version already.");
        else
            console.Say($"{updated.Folder}: updated. {report.Written} files written, {report.Kept} kept ({report.Own.Count} of your own), {report.Removed.Count} removed.");
        foreach (var folder in updated.KeptAside)
            console.Say($"Something was saved into the folder while it was updated. {folder} is the folder as it was, with that in it: take over what you need, then delete it.");
    }
}

using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>`shelf verify DIR-OR-ARCHIVE --against URL`: which version is this, or between which two is it an update?</summary>
internal sealed class AgainstShelf(ShelfConsole console)
{
    private sealed record Read(int Files, long Bytes, IReadOnlyDictionary<string, string> Hashes);

    public async Task<int> RunAsync(string path, string url, bool json, CancellationToken cancellationToken)
    {
        var address = VersionsClient.AddressOf(url);
        if (!Path.Exists(path))
            throw new CouldNotRunException($"there is no file or folder {path}.");
        var isFolder = Directory.Exists(path);
        // Listed before the net is asked, so that a folder that can't be read is said at once.
        var folder = isFolder ? LocalFolder.Read(path) : null;
        var table = await VersionsClient.ReadAsync(address, cancellationToken);
        if (folder is not null)
            return Tell(table, address, path, await ReadAsync(folder, cancellationToken), json);
        var verified = await new ArchiveVerifier(console).RunAsync(path, cancellationToken);
        if (verified.Discrepancies.Count > 0)
        {
            VerifyReport.Print(console, path, verified, json);
            return ExitCodes.FoundSomething;
        }
        return verified.Update is { } between
            ? TellUpdate(UpdateMatch.Hold(table, between, verified.Hashes), table, address, path, verified, json)
            : Tell(table, address, path, new Read(verified.Files, verified.Bytes, verified.Hashes), json);
    }

    private async Task<Read> ReadAsync(LocalFolder folder, CancellationToken cancellationToken)
    {
        using var progress = console.StartProgress("Verifying", folder.Bytes);
        var sums = await FileHashing.HashAsync(folder.Files, progress.Add, cancellationToken);
        return new Read(folder.Files.Count, folder.Bytes, sums.ToDictionary(s => s.File.Path, s => s.Sha256, StringComparer.Ordinal));
    }

    private int Tell(VersionsAnswer table, Uri address, string path, Read read, bool json)
    {
        var found = VersionMatch.Find(table, read.Hashes)
            ?? throw new CouldNotRunException($"none of the files in {path} is from {table.Title}. Give the folder that was unzipped from it, or the one above.");
        var readable = table.Versions.Where(v => v.Runs is not null).ToList();
        var latest = readable.Find(v => v.WithdrawnAt is null) ?? readable[0];
        var cost = VersionMatch.Cost(table, found.Version, latest);
        if (json)
            console.Json(new VerifyJson("libraryshelf/verify/1", path, found.IsExact, read.Files, read.Bytes, found.Discrepancies)
            {
                Version = found.Version.Number, Against = address.ToString(), Latest = latest.Number, UpdateBytes = cost,
                Extra = [.. found.LeftOver.Concat(found.Own).Order(StringComparer.Ordinal)],
            }, ResultJson.Printed.VerifyJson);
        else
            Say(path, table.Title ?? "the library", found, latest, cost);
        return found.IsExact ? ExitCodes.Fine : ExitCodes.FoundSomething;
    }

    private int TellUpdate(HeldUpdate held, VersionsAnswer table, Uri address, string path, Verification verified, bool json)
    {
        Discrepancy[] wrong =
        [
            .. held.Altered.Select(p => new Discrepancy(DiscrepancyKind.Altered, p, $"Its bytes are not those of {held.Between.To}.")),
            .. held.Missing.Select(p => new Discrepancy(DiscrepancyKind.Missing, p, $"It is neither in the update nor in {held.Between.From}.")),
        ];
        if (json)
            console.Json(VerifyJson.Of(path, verified with { Discrepancies = wrong }) with { Against = address.ToString() }, ResultJson.Printed.VerifyJson);
        foreach (var one in json ? [] : wrong)
            console.Say($"{VerifyReport.Word(one.Kind)}: {one.Path}: {one.Message}");
        if (!json)
            console.Say($"{path}: this is the update of {table.Title} from {held.Between.From} to {held.Between.To}" + (!held.IsKnown ? ", whole in itself; that version is not told of by the shelf."
                : held.IsExact ? ", whole and unaltered." : $", but not as the shelf makes it ({wrong.Length} found)."));
        return held.IsExact ? ExitCodes.Fine : ExitCodes.FoundSomething;
    }

    private void Say(string path, string title, NearestVersion found, VersionLine latest, long cost)
    {
        foreach (var one in found.Discrepancies)
            console.Say($"{VerifyReport.Word(one.Kind)}: {one.Path}: {one.Message}");
        var number = found.Version.Number;
        console.Say(found.IsExact ? $"{path}: this is {title} {number}, whole and unaltered." : $"{path}: nearest to {title} {number} ({found.Faults} found).");
        if (found.LeftOver.Count > 0)
            console.Say($"Left over from another version, and may be deleted: {Files(found.LeftOver.Count)}.");
        if (found.Own.Count > 0)
            console.Say($"Your own, and no fault: {Files(found.Own.Count)}.");
        if (found.Version.WithdrawnAt is not null)
            console.Say($"The maker has withdrawn {number}. {found.Version.WithdrawnBecause}".TrimEnd());
        if (latest.Number != number)
            console.Say(FormattableString.Invariant($"The latest is {latest.Number}; what differs is about {cost / 1e6:0.#} MB."));
    }

    private static string Files(int count) => count == 1 ? "1 file" : $"{count} files";
}

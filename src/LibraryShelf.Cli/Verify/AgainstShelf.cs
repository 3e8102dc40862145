using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>`shelf verify DIR --against URL`: which version is this folder?</summary>
internal sealed class AgainstShelf(ShelfConsole console)
{
    public async Task<int> RunAsync(string path, string url, bool json, CancellationToken cancellationToken)
    {
        if (!Directory.Exists(path))
            throw new CouldNotRunException(File.Exists(path)
                ? $"{path} is a file. Give the unzipped folder with --against; without it, an archive is verified by itself."
                : $"there is no folder {path}.");
        var address = VersionsClient.AddressOf(url);
        var folder = LocalFolder.Read(path);
        var table = await VersionsClient.ReadAsync(address, cancellationToken);
        using var progress = console.StartProgress("Verifying", folder.Bytes);
        var sums = await FileHashing.HashAsync(folder.Files, progress.Add, cancellationToken);
        var found = VersionMatch.Find(table, sums.ToDictionary(s => s.File.Path, s => s.Sha256, StringComparer.Ordinal))
            ?? throw new CouldNotRunException($"none of the files in {path} is from {table.Title}. Give the folder that was unzipped from it, or the one above.");
        var readable = table.Versions.Where(v => v.Runs is not null).ToList();
        var latest = readable.Find(v => v.WithdrawnAt is null) ?? readable[0];
        var cost = VersionMatch.Cost(table, found.Version, latest);
        if (json)
            console.Json(new VerifyJson("libraryshelf/verify/1", path, found.IsExact, folder.Files.Count, folder.Bytes, found.Discrepancies)
            {
                Version = found.Version.Number, Against = address.ToString(), Latest = latest.Number, UpdateBytes = cost, Extra = found.Extra,
            }, ResultJson.Printed.VerifyJson);
        else
            Say(path, table.Title ?? "the library", found, latest, cost);
        return found.IsExact ? ExitCodes.Fine : ExitCodes.FoundSomething;
    }

    private void Say(string path, string title, NearestVersion found, VersionLine latest, long cost)
    {
        foreach (var one in found.Discrepancies)
            console.Say($"{VerifyReport.Word(one.Kind)}: {one.Path}: {(one.Kind == DiscrepancyKind.Missing ? "It is in that version and not there." : one.Message)}");
        var number = found.Version.Number;
        console.Say(found.IsExact ? $"{path}: this is {title} {number}, whole and unaltered." : $"{path}: nearest to {title} {number} ({found.Discrepancies.Count} found).");
        if (found.Extra.Count > 0)
            console.Say($"Not of that version, and no fault: {(found.Extra.Count == 1 ? "1 file" : $"{found.Extra.Count} files")}.");
        if (found.Version.WithdrawnAt is not null)
            console.Say($"The maker has withdrawn {number}. {found.Version.WithdrawnBecause}".TrimEnd());
        if (latest.Number != number)
            console.Say(FormattableString.Invariant($"The latest is {latest.Number}; what differs is about {cost / 1e6:0.#} MB."));
    }
}

using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Update;

/// <summary>A file of the new folder: from the old folder's <paramref name="From"/>, or out of the archive when that is null.</summary>
internal sealed record PlannedFile(string Path, string? From, string? Sha256);

/// <summary>What the new folder is made of.</summary>
/// <param name="Files">The new version's files and the person's own.</param>
/// <param name="Removed">Files of the old version that the new one has not.</param>
/// <param name="Own">Paths of the person's own.</param>
internal sealed record UpdatePlan(IReadOnlyList<PlannedFile> Files, IReadOnlyList<string> Removed, IReadOnlyList<string> Own)
{
    /// <summary>CouldNotRunException when a file is neither here nor in the archive, or one of the person's own is in the way.</summary>
    public static UpdatePlan Make(UpdateFolder old, UpdateSource source)
    {
        var byHash = old.Hashes.GroupBy(h => h.Value, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.Select(h => h.Key).Min(StringComparer.Ordinal)!, StringComparer.Ordinal);
        var files = source.Listed.Select(l => Plan(l, old, source, byHash)).Append(new PlannedFile(source.ListPath, null, null)).ToList();
        var next = files.Select(f => f.Path).ToHashSet(StringComparer.Ordinal);
        var ofVersion = old.Listed.Select(l => l.Path).Append(old.ListPath).ToHashSet(StringComparer.Ordinal);
        // A REMOVED.txt of an earlier update unzipped by hand speaks of a folder that is gone.
        var own = old.Folder.Files.Where(f => !ofVersion.Contains(f.Path) && !IsStaleRemoved(f.Path, f.FullPath)).Select(f => f.Path).ToList();
        var kept = own.Concat(old.Folder.PassedOver.Where(p => File.Exists(Path.Combine(old.Folder.FullPath, p)))).Where(p => !next.Contains(p)).ToList();
        RequireRoom(kept, next, own, files, old);
        return new UpdatePlan([.. files, .. kept.Select(p => new PlannedFile(p, p, null))], [.. ofVersion.Where(p => !next.Contains(p)).Order(StringComparer.Ordinal)], own);
    }

    private static PlannedFile Plan(ListedChecksum listed, UpdateFolder old, UpdateSource source, Dictionary<string, string> byHash)
    {
        if (old.Hashes.GetValueOrDefault(listed.Path) == listed.Sha256)
            return new PlannedFile(listed.Path, listed.Path, listed.Sha256);
        if (source.Has(listed.Path))
            return new PlannedFile(listed.Path, null, listed.Sha256);
        return byHash.TryGetValue(listed.Sha256, out var from)
            ? new PlannedFile(listed.Path, from, listed.Sha256)
            : throw new CouldNotRunException($"this archive is an update from another version than the one in {old.Folder.FullPath}: it needs a \"{listed.Path}\" that is not there. "
                + "Nothing was changed. Fetch the update from your version, or the whole library.");
    }

    /// <summary>Own files stay where they are, so none may be where the new version puts a file or a folder; names as Windows and macOS see them.</summary>
    private static void RequireRoom(List<string> kept, HashSet<string> next, List<string> own, List<PlannedFile> files, UpdateFolder old)
    {
        var replaced = own.FirstOrDefault(p => files.Exists(f => f.Path == p && f.From != p));
        var inTheWay = replaced ?? PortablePath.Collisions(kept.Concat(next)).SelectMany(group => group).FirstOrDefault(kept.Contains);
        if (inTheWay is not null)
            throw new CouldNotRunException($"\"{inTheWay}\" in {old.Folder.FullPath} is a file of your own, and the new version has one of that name. Nothing was changed. Move yours away, then update again.");
    }

    /// <summary>The list that an update unzipped by hand left; a maker's or a person's file of that name begins otherwise.</summary>
    internal static bool IsStaleRemoved(string path, string fullPath)
    {
        if (!UpdateBetween.MayStandIn(path))
            return false;
        using var reader = new StreamReader(fullPath);
        return reader.ReadLine()?.StartsWith(UpdateArchive.RemovedBeginning, StringComparison.Ordinal) == true;
    }
}

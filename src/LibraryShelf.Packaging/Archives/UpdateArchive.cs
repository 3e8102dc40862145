using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// The update archive from one version to another: every file of the newer one that does not lie at the same path with the same bytes in the
/// older one. Unzipped over the old folder it gives the new library whole; what the older one has besides may be tidied away, and is listed
/// in REMOVED.txt, which also says which two versions the update lies between. The checksum list in it speaks of the whole new folder.
/// </summary>
public static class UpdateArchive
{
    public const string RemovedName = "REMOVED.txt";

    /// <summary>How a REMOVED.txt of ours begins; a maker's file of that name does not.</summary>
    public const string RemovedBeginning = "Left over from earlier versions: ";

    /// <summary>
    /// Why unzipping over the old folder can't give the new one (a file that is a folder now, another top folder), in words for people; the
    /// whole library is the way then. Null when it can.
    /// </summary>
    public static string? Obstacle(Recipe old, Recipe next, string fromNumber, string toNumber) => UpdateObstacles.Find(old, next, fromNumber, toNumber);

    /// <summary>
    /// Its recipe, from the recipes of both full archives. RecipeException, in words for people, when there is an <see cref="Obstacle"/>.
    /// </summary>
    /// <param name="old">The version that lies in the folder.</param>
    /// <param name="next">The version it becomes.</param>
    /// <param name="fromNumber">The number of <paramref name="old"/>.</param>
    /// <param name="toNumber">The number of <paramref name="next"/>.</param>
    /// <param name="earlierPaths">
    /// Paths of the versions before <paramref name="old"/>: the folder was perhaps unzipped over and still holds them, and a REMOVED.txt that
    /// named them. They are listed too where <paramref name="next"/> has them not.
    /// </param>
    public static Recipe Build(Recipe old, Recipe next, string fromNumber, string toNumber, IEnumerable<string>? earlierPaths = null)
    {
        if (Obstacle(old, next, fromNumber, toNumber) is { } obstacle)
            throw new RecipeException(obstacle);
        var known = old.Entries.ToDictionary(e => e.Path, StringComparer.Ordinal);
        // The list is always carried, so that the archive can be held against it.
        var list = FullArchive.FindChecksums(next.Entries.Select(e => e.Path));
        var carried = next.Entries.Where(e => e.Path == list || known.GetValueOrDefault(e.Path) is not { } before || !before.HasSameBytes(e)).ToList();
        var name = FullArchive.FreeName(RemovedName, next.Entries.Select(e => e.Path));
        var removed = RemovedText(old, next, new UpdateBetween(fromNumber, toNumber), name, [.. earlierPaths ?? []]);
        carried.Add(RecipeEntry.FromBytes(name, Encoding.UTF8.GetBytes(removed)));
        return new Recipe(next.TopFolder, next.Dated, carried.OrderBy(e => e.Path, StringComparer.Ordinal));
    }

    /// <summary>
    /// The leaner kind, for `shelf update` alone, which moves files: bytes that the old folder has anywhere are not carried. Unzipped by hand
    /// it gives no library. RecipeException when the top folders differ.
    /// </summary>
    public static Recipe BuildLean(Recipe old, Recipe next, string fromNumber, string toNumber)
    {
        if (UpdateObstacles.FolderDiffers(old, next, fromNumber, toNumber) is { } differs)
            throw new RecipeException(differs);
        var known = old.Entries.Select(e => e.Hash).ToHashSet(StringComparer.Ordinal);
        var list = FullArchive.FindChecksums(next.Entries.Select(e => e.Path));
        var name = FullArchive.FreeName(RemovedName, next.Entries.Select(e => e.Path));
        var removed = RecipeEntry.FromBytes(name, Encoding.UTF8.GetBytes(RemovedText(old, next, new UpdateBetween(fromNumber, toNumber), name, [])));
        return new Recipe(next.TopFolder, next.Dated, next.Entries.Where(e => e.Path == list || !known.Contains(e.Hash)).Append(removed).OrderBy(e => e.Path, StringComparer.Ordinal));
    }

    /// <summary>The name under which it is downloaded, such as "Mended Kettle 1.0.0 to 1.2.0.zip".</summary>
    public static string FileName(string title, string fromNumber, string toNumber) => $"{FolderName.FromTitle(title)} {fromNumber} to {toNumber}.zip";

    private static string RemovedText(Recipe old, Recipe next, UpdateBetween between, string ownName, IReadOnlyList<string> earlier)
    {
        // Where case doesn't count, deleting Kick.wav would delete kick.wav: a name that only looks otherwise is not listed.
        var kept = next.Entries.Select(e => NameKey.Of(e.Path)).Append(NameKey.Of(ownName)).ToHashSet(StringComparer.Ordinal);
        var left = old.Entries.Select(e => e.Path).Concat(earlier).Distinct(StringComparer.Ordinal)
            .Where(p => !kept.Contains(NameKey.Of(p))).Order(StringComparer.Ordinal).ToList();
        // With nothing to list too: an update before this one may have left a list that names files which have come back since.
        return left.Count == 0
            ? $"{RemovedBeginning}nothing that {between.To} knows of.{between.Sentence}\n"
            : $"{RemovedBeginning}{between.To} needs none of these files, and they may be deleted.{between.Sentence}\n{string.Join('\n', left)}\n";
    }
}

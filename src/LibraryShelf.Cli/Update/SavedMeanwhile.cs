using LibraryShelf.Cli.Folders;

namespace LibraryShelf.Cli.Update;

/// <summary>Finds what somebody saved into the folder since it was read.</summary>
internal sealed class SavedMeanwhile
{
    /// <summary>
    /// A file saved again within one step of the disk's clock has the same time: two seconds on FAT (Microsoft, "File Times"), far less
    /// elsewhere. Times that near to the reading prove nothing, and the bytes are asked.
    /// </summary>
    private static readonly TimeSpan ClockStep = TimeSpan.FromSeconds(3);

    private readonly Dictionary<string, (long Size, DateTime At)> before;
    private readonly DateTime readFrom;

    private SavedMeanwhile(Dictionary<string, (long, DateTime)> before, DateTime readFrom) => (this.before, this.readFrom) = (before, readFrom);

    /// <summary>To be made before the first byte of the folder is read.</summary>
    public static SavedMeanwhile Watch(LocalFolder folder) => new(Look(folder), TimeProvider.System.GetUtcNow().UtcDateTime - ClockStep);

    /// <summary>The first path that is not as it was read; null when all are.</summary>
    /// <param name="place">Where the folder is now.</param>
    /// <param name="hashes">SHA-256 by path, as it was read.</param>
    /// <param name="isToBeRead">Files whose bytes are asked whatever their times say.</param>
    public async Task<string?> FindAsync(string place, IReadOnlyDictionary<string, string> hashes, Func<string, bool> isToBeRead)
    {
        var folder = LocalFolder.Read(place);
        var now = Look(folder);
        if (before.Keys.Except(now.Keys).Concat(now.Keys.Where(path => !before.TryGetValue(path, out var was) || was != now[path]))
            .Order(StringComparer.Ordinal).FirstOrDefault() is { } differs)
            return differs;
        var doubtful = folder.Files.Where(f => isToBeRead(f.Path) || before[f.Path].At >= readFrom).ToList();
        // Not to be cancelled: it is asked between two acts that belong together.
        var sums = await FileHashing.HashAsync(doubtful, _ => { }, CancellationToken.None);
        return sums.FirstOrDefault(s => hashes[s.File.Path] != s.Sha256)?.File.Path;
    }

    private static Dictionary<string, (long, DateTime)> Look(LocalFolder folder) =>
        folder.Files.ToDictionary(f => f.Path, f => (f.Size, TimeOf(f)), StringComparer.Ordinal);

    private static DateTime TimeOf(LocalFile file)
    {
        var info = new FileInfo(file.FullPath);
        return (info.LinkTarget is null ? info : info.ResolveLinkTarget(returnFinalTarget: true) ?? info).LastWriteTimeUtc;
    }
}

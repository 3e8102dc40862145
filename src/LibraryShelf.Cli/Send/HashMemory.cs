using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Cli.Folders;

namespace LibraryShelf.Cli.Send;

/// <summary>
/// Remembers a file's SHA-256 by its full path, size and time of last change, so that an unchanged folder is not read again. One
/// file for each folder sent, in the user's cache, holds what that folder holds and no more; losing it costs only time.
/// </summary>
/// <param name="cache">Where they lie.</param>
/// <param name="folder">The folder sent.</param>
/// <param name="clock">Now.</param>
internal sealed partial class HashMemory(string cache, string folder, TimeProvider clock)
{
    /// <summary>A folder not sent for so long is read anew.</summary>
    private static readonly TimeSpan Kept = TimeSpan.FromDays(400);

    private readonly string file = Path.Combine(cache, Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Path.GetFullPath(folder)))) + ".json");
    private readonly Dictionary<string, Known> inFolder = new(StringComparer.Ordinal);

    /// <summary>
    /// A file changed so shortly before may change again within the same tick of its clock. FAT counts in 2 s, older systems in whole ones; a time with a
    /// fraction comes from a finer clock (exFAT: 10 ms), where a second leaves room for a file server whose clock is not ours.
    /// </summary>
    private static readonly TimeSpan Settled = TimeSpan.FromSeconds(3), SettledByFineClock = TimeSpan.FromSeconds(1);

    internal sealed record Known(long Size, long ChangedTicks, string Sha256);

    [JsonSerializable(typeof(Dictionary<string, Known>))]
    private sealed partial class MemoryJson : JsonSerializerContext;

    private Dictionary<string, Known> known = new(StringComparer.Ordinal);

    /// <summary>$XDG_CACHE_HOME or ~/.cache; the local application data on Windows.</summary>
    public static string DefaultPlace()
    {
        var root = Environment.GetEnvironmentVariable("XDG_CACHE_HOME");
        if (string.IsNullOrEmpty(root))
            root = OperatingSystem.IsWindows()
                ? Environment.GetFolderPath(Environment.SpecialFolder.LocalApplicationData)
                : Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache");
        return Path.Combine(root, "libraryshelf", "hashes");
    }

    public void Load()
    {
        try
        {
            if (File.Exists(file))
                known = JsonSerializer.Deserialize(File.ReadAllBytes(file), MemoryJson.Default.DictionaryStringKnown) ?? known;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or JsonException)
        {
            known = new(StringComparer.Ordinal);
        }
    }

    /// <summary>The hash when the file is as it was; null when it must be read.</summary>
    public string? Recall(LocalFile local)
    {
        if (!known.TryGetValue(local.FullPath, out var seen) || seen.Size != local.Size || seen.ChangedTicks != Changed(local).Ticks)
            return null;
        inFolder[local.FullPath] = seen;
        return seen.Sha256;
    }

    /// <summary>To be called with the time the reading began, so that a change during it is not missed.</summary>
    public void Remember(FileSums sums, DateTimeOffset begun)
    {
        var changed = Changed(sums.File);
        var settled = changed.Ticks % TimeSpan.TicksPerSecond == 0 ? Settled : SettledByFineClock;
        if (sums.Size == sums.File.Size && begun.UtcDateTime - changed > settled)
            inFolder[sums.File.FullPath] = new Known(sums.Size, changed.Ticks, sums.Sha256);
    }

    public DateTimeOffset Now() => clock.GetUtcNow();

    /// <summary>Writes what was recalled or remembered, and forgets folders long not sent; a cache that can't be written is no trouble.</summary>
    public void Save()
    {
        try
        {
            Directory.CreateDirectory(cache);
            foreach (var old in Directory.EnumerateFiles(cache).Where(f => Now().UtcDateTime - File.GetLastWriteTimeUtc(f) > Kept))
                File.Delete(old);
            var part = $"{file}.{Environment.ProcessId}.part";
            File.WriteAllBytes(part, JsonSerializer.SerializeToUtf8Bytes(inFolder, MemoryJson.Default.DictionaryStringKnown));
            File.Move(part, file, overwrite: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
        }
    }

    private static DateTime Changed(LocalFile local) => File.GetLastWriteTimeUtc(local.FullPath);
}

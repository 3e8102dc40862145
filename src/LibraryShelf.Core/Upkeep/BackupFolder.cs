using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// The layout of the folder for backups: each backup a folder named after its instant, all blobs once in one store beside them, and what has to outlive a restore.
/// Whatever else lies there is left alone.
/// </summary>
internal sealed class BackupFolder(string root)
{
    private const string Manifest = "manifest.json", Unfinished = ".tmp";
    private static readonly TimeSpan ClocksDiffer = TimeSpan.FromHours(1);

    private const string NameFormat = "yyyy-MM-dd'T'HHmmss'Z'";

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web) { WriteIndented = true };

    public string Root { get; } = Path.GetFullPath(root);

    public DataPaths Paths => new(Root);

    public string Deletions => Path.Combine(Root, "deletions.jsonl");

    public string Stops => Path.Combine(Root, "stops.json");

    /// <summary>Blobs whose copies here were found damaged, and which the shelf does not have either; a line each.</summary>
    public string Rotted => Path.Combine(Root, "damaged.txt");

    /// <param name="Name">The folder's.</param>
    /// <param name="At">The instant in it.</param>
    /// <param name="IsWhole">It has a manifest.</param>
    public sealed record Entry(string Name, DateTimeOffset At, bool IsWhole);

    public static string NameOf(DateTimeOffset at) => at.UtcDateTime.ToString(NameFormat, CultureInfo.InvariantCulture);

    public string PathOf(string name) => Path.Combine(Root, name);

    /// <summary>Oldest first.</summary>
    public IReadOnlyList<Entry> All() =>
        [.. new DirectoryInfo(Root).EnumerateDirectories().Select(Read).OfType<Entry>().OrderBy(e => e.At)];

    /// <summary>Of those that are of no day to come, as a clock set ahead names them; null: there is none.</summary>
    public Entry? NewestWhole(DateTimeOffset now) => All().LastOrDefault(b => b.IsWhole && b.At <= now + ClocksDiffer);

    public async Task<BackupManifest> ReadAsync(string name, CancellationToken cancellationToken)
    {
        await using var file = File.OpenRead(Path.Combine(PathOf(name), Manifest));
        return await JsonSerializer.DeserializeAsync<BackupManifest>(file, Json, cancellationToken) is { Database: not null, Blobs: not null } manifest
            ? manifest
            : throw new JsonException($"{name}/{Manifest} says nothing.");
    }

    /// <summary>From now on this backup is one.</summary>
    public async Task WriteAsync(string name, BackupManifest manifest, CancellationToken cancellationToken) =>
        await WriteWholeAsync(Path.Combine(PathOf(name), Manifest), file => JsonSerializer.SerializeAsync(file, manifest, Json, cancellationToken));

    /// <summary>The file is the old one or the new one, whatever dies when.</summary>
    public static async Task WriteWholeAsync(string path, Func<Stream, Task> write)
    {
        await using (var file = new FileStream(path + Unfinished, FileMode.Create, FileAccess.Write))
        {
            await write(file);
            file.Flush(flushToDisk: true);
        }
        File.Move(path + Unfinished, path, overwrite: true);
    }

    /// <summary>Copies one file and says what it was, as it was read.</summary>
    /// <param name="from">The file.</param>
    /// <param name="to">Where.</param>
    /// <param name="told">Told of each stretch that was read.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public static async Task<BackupFile> CopyAsync(string from, string to, Func<long, CancellationToken, Task> told, CancellationToken cancellationToken)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(to)!);
        await using (var source = new ToldStream(File.OpenRead(from), told))
        await using (var target = new FileStream(to, FileMode.Create, FileAccess.Write))
        {
            await source.CopyToAsync(target, cancellationToken);
            target.Flush(flushToDisk: true);
        }
        return await DescribeAsync(to, told, cancellationToken);
    }

    /// <inheritdoc cref="CopyAsync"/>
    public static async Task<BackupFile> DescribeAsync(string path, Func<long, CancellationToken, Task> told, CancellationToken cancellationToken)
    {
        await using var file = new ToldStream(File.OpenRead(path), told);
        var hash = await SHA256.HashDataAsync(file, cancellationToken);
        return new(Path.GetFileName(path), new FileInfo(path).Length, Convert.ToHexStringLower(hash));
    }

    private static Entry? Read(DirectoryInfo folder) =>
        DateTimeOffset.TryParseExact(folder.Name, NameFormat, CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal, out var at)
            ? new(folder.Name, at, File.Exists(Path.Combine(folder.FullName, Manifest)))
            : null;
}

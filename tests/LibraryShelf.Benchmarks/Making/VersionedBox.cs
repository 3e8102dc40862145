using System.Globalization;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Benchmarks.Making;

/// <summary>
/// A free library of 2,000 recordings of a megabyte in many versions, each with fifteen recorded again and five renamed since the one before.
/// Most recordings share their bytes, so that it takes little room.
/// </summary>
internal sealed class VersionedBox(Shelf shelf)
{
    public const string Slug = "bench-versions";
    private const int Recordings = 2_000, RecordingBytes = 1_000_000, Again = 15, Renamed = 5, Shared = 40;

    private sealed record PackedFile(string Path, long Size, uint Crc32, string Sha256);

    private readonly DiskBlobStore blobs = new(shelf.Paths);
    private readonly Random random = new(1140);
    private readonly List<Dictionary<string, PackedFile>> versions = [];

    /// <summary>Their releases, the oldest first.</summary>
    public List<long> Releases { get; } = [];

    public static string Number(int version) => string.Create(CultureInfo.InvariantCulture, $"1.{version}.0");

    /// <summary>Bytes of the files of the last version that are not at the same path with the same bytes in that one: changed and renamed.</summary>
    public long Changed(int from) => versions[^1].Where(f => versions[from].GetValueOrDefault(f.Key)?.Sha256 != f.Value.Sha256).Sum(f => f.Value.Size);

    public async Task StockAsync(int count)
    {
        var shared = new List<PackedFile>();
        for (var i = 0; i < Shared; i++)
            shared.Add(await StoreAsync(""));
        var files = Enumerable.Range(0, Recordings).Select(i => shared[i % Shared] with { Path = $"Samples/{i:0000}.wav" }).ToDictionary(f => f.Path);
        for (var version = 0; version < count; version++)
        {
            if (version > 0)
                files = await ReviseAsync(files, version);
            versions.Add(files);
            await AddRowsAsync(version, files);
        }
        await using var db = shelf.Open();
        await new WeighUpdates(db, blobs).RunAsync(Releases[0], CancellationToken.None);
    }

    private async Task<Dictionary<string, PackedFile>> ReviseAsync(Dictionary<string, PackedFile> before, int version)
    {
        var files = new Dictionary<string, PackedFile>(before);
        var paths = files.Keys.Order(StringComparer.Ordinal).ToList();
        for (var i = 0; i < Again + Renamed; i++)
        {
            var path = paths[((i * Recordings / (Again + Renamed)) + version) % Recordings];
            if (i < Again)
            {
                files[path] = await StoreAsync(path);
                continue;
            }
            files.Remove(path, out var moved);
            var name = $"Samples/moved {version}-{i}.wav";
            files[name] = moved! with { Path = name };
        }
        return files;
    }

    private async Task<PackedFile> StoreAsync(string path)
    {
        var bytes = new byte[RecordingBytes];
        random.NextBytes(bytes);
        var stored = await blobs.PutAsync(new MemoryStream(bytes), CancellationToken.None);
        return new PackedFile(path, stored.Size, stored.Crc32, stored.Sha256);
    }

    private async Task AddRowsAsync(int version, Dictionary<string, PackedFile> files)
    {
        var recipe = FullArchive.Build(new FullArchiveInput { Title = "Bench Versions", Number = Number(version), Files = [.. files.Values.Select(f => RecipeEntry.FromBlob(f.Path, f.Size, f.Crc32, f.Sha256))] });
        await blobs.PutAsync(new MemoryStream(recipe.CanonicalBytes.ToArray()), CancellationToken.None);
        await using var db = shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var library = db.Libraries.FirstOrDefault(l => l.Slug == Slug);
        if (library is null)
        {
            library = new Library { Slug = Slug, Title = "Bench Versions", CreatedAt = now };
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = now });
            db.Libraries.Add(library);
        }
        var release = new Release { Number = Number(version), CreatedAt = now };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
            release.MoveTo(state, now);
        library.Releases.Add(release);
        await db.SaveChangesAsync();
        Releases.Add(release.Id);
        db.Archives.Add(new Archive
        {
            ReleaseId = release.Id, RecipeSha256 = recipe.Sha256, Length = new ArchiveLayout(recipe).Length, FileName = $"{Number(version)}.zip", CreatedAt = now,
            Sha256 = new string('0', 64),
        });
        await db.SaveChangesAsync();
    }
}

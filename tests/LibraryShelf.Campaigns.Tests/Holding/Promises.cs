using System.Collections.Concurrent;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Holding;

/// <summary>What must be true of a data directory at any instant, however the program ended.</summary>
internal sealed class Promises(DataPaths paths)
{
    /// <summary>Blobs already read through; they are never changed.</summary>
    private static readonly ConcurrentDictionary<string, bool> Read = new(StringComparer.Ordinal);

    /// <summary>Everything that is not as it must be; empty when all is well.</summary>
    public async Task<IReadOnlyList<string>> BrokenAsync(ShelfDb db)
    {
        var broken = new List<string>();
        var integrity = await db.Database.SqlQuery<string>($"SELECT integrity_check AS Value FROM pragma_integrity_check").ToListAsync();
        broken.AddRange(integrity.Where(line => line != "ok"));
        broken.AddRange((await db.Database.SqlQuery<string>($"SELECT \"table\" AS Value FROM pragma_foreign_key_check").ToListAsync())
            .Select(table => $"a row of {table} points nowhere"));
        foreach (var blob in await db.Blobs.AsNoTracking().ToListAsync())
            broken.AddRange(await BlobAsync(blob));
        broken.AddRange(await UploadsAsync(db));
        foreach (var release in await db.Releases.AsNoTracking().Include(r => r.Files).ToListAsync())
            broken.AddRange((await ReleaseAsync(db, release)).Select(why => $"release {release.Id} ({release.State}): {why}"));
        broken.AddRange((await db.ListeningFiles.Where(f => !db.Blobs.Any(b => b.Sha256 == f.Sha256 && b.Size == f.Size)
            || !db.Listenings.Any(l => l.ReleaseId == f.ReleaseId)).ToListAsync()).Select(f => $"release {f.ReleaseId}: {f.Name} can't be heard"));
        broken.AddRange(await Recount.WrongAsync(db));
        return broken;
    }

    private string FileOf(string sha256) => Path.Combine(paths.Blobs, sha256[..2], sha256[2..4], sha256);

    private async Task<IEnumerable<string>> BlobAsync(Blob blob)
    {
        var file = new FileInfo(FileOf(blob.Sha256));
        if (!file.Exists)
            return [$"blob {blob.Sha256} has no file"];
        if (file.Length != blob.Size)
            return [$"blob {blob.Sha256} has {file.Length} bytes, not {blob.Size}"];
        if (Read.ContainsKey(file.FullName))
            return [];
        await using var stream = file.OpenRead();
        using var hash = await RunningHash.OfAsync(stream, CancellationToken.None);
        Read[file.FullName] = true;
        return hash.Current() == new StoredBytes(blob.Sha256, blob.Crc32, blob.Size) ? [] : [$"blob {blob.Sha256} holds other bytes: {hash.Current()}"];
    }

    private async Task<IEnumerable<string>> UploadsAsync(ShelfDb db)
    {
        var broken = new List<string>();
        foreach (var upload in await db.Uploads.AsNoTracking().ToListAsync())
        {
            var bytes = new FileInfo(Path.Combine(paths.Uploads, upload.Id));
            if (bytes.Exists && bytes.Length > upload.Length)
                broken.Add($"upload {upload.Id} has {bytes.Length} bytes of {upload.Length}");
            if (upload is { Kind: UploadKind.File, FinishedAt: not null, ExpectedSha256: { } hash } && !await db.Blobs.AnyAsync(b => b.Sha256 == hash))
                broken.Add($"upload {upload.Id} is finished, but {hash} is not in the store");
            if (upload is { Kind: UploadKind.Zip, FinishedAt: not null, UnpackedAt: null, Trouble: null } && (!bytes.Exists || bytes.Length != upload.Length))
                broken.Add($"zip {upload.Id} waits to be unpacked without its bytes");
        }
        return broken;
    }

    private async Task<IEnumerable<string>> ReleaseAsync(ShelfDb db, Release release)
    {
        var broken = new List<string>();
        var archives = await db.Archives.AsNoTracking().Where(a => a.ReleaseId == release.Id && a.Kind == ArchiveKind.Full).ToListAsync();
        var isSealed = release.State is not (ReleaseState.Draft or ReleaseState.Checked);
        Must(release.IsSealed == isSealed, $"sealed at {release.SealedAt:O}");
        Must((release.PublishedAt is not null) == (release.State == ReleaseState.Published), $"published at {release.PublishedAt:O}");
        Must((release.CheckedAt is null) == (release.State == ReleaseState.Draft), $"checked at {release.CheckedAt:O}");
        Must(release.State == ReleaseState.Draft || release.CheckAskedAt is null, "its check is asked for and done");
        Must(!isSealed || release.SealAskedAt is null, "its seal is asked for and done");
        Must(archives.Count == (isSealed ? 1 : 0), $"{archives.Count} full archives");
        if (release.State != ReleaseState.Draft)
            foreach (var file in release.Files)
                Must(await db.Blobs.AnyAsync(b => b.Sha256 == file.Sha256 && b.Size == file.Size), $"{file.Path} is not in the store");
        foreach (var archive in archives)
            if (await RecipeTroubleAsync(db, archive) is { } why)
                broken.Add(why);
        return broken;

        void Must(bool holds, string why)
        {
            if (!holds) broken.Add(why);
        }
    }

    private async Task<string?> RecipeTroubleAsync(ShelfDb db, Archive archive)
    {
        if (!await db.Blobs.AnyAsync(b => b.Sha256 == archive.RecipeSha256))
            return "its recipe is not in the store";
        try
        {
            var recipe = Recipe.Parse(await File.ReadAllBytesAsync(FileOf(archive.RecipeSha256)));
            var length = new ArchiveLayout(recipe).Length;
            return recipe.Sha256 == archive.RecipeSha256 && length == archive.Length ? null : $"its recipe gives {length} bytes, the row says {archive.Length}";
        }
        catch (Exception e) when (e is IOException or FormatException)
        {
            return $"its recipe can't be read: {e.Message}";
        }
    }
}

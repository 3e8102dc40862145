using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// Removes blobs that nothing has used for a week: no manifest, no claim, no archive's recipe, nothing to listen to. It stands in the last step that keeps
/// blobs, because it has to know them all. Safe beside every other step by the rule of <see cref="BlobRows"/>: a row goes by one
/// statement that asks again, and the bytes go after it, unless somebody gave them anew. A kill in between leaves bytes
/// without a row, which are found next time. While the disk is nearly full they are kept for less: who discards a draft to make room need not wait
/// for a week. Answers how many blobs' bytes went.
/// </summary>
public sealed class CollectBlobs(ShelfDb db, IBlobStore store, IDiskRoom disk, DataPaths paths, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    /// <summary>Half-stored files of a kill; a file being written is younger, however slow its sender.</summary>
    private static readonly TimeSpan UnfinishedFor = TimeSpan.FromDays(1);

    /// <summary>A date counts as fresh for a day (<see cref="BlobRows"/>); twice that is what anybody has to write the line that keeps a blob.</summary>
    private static readonly TimeSpan KeptWhenShort = TimeSpan.FromDays(2);

    /// <summary>Bytes without a row; the longest unpacking, which writes its rows at its end, takes some hours.</summary>
    private static readonly TimeSpan RowlessKeptWhenShort = TimeSpan.FromHours(12);

    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var isShort = disk.Of(paths.Blobs) is { } room && room.Free < settings.Value.Disk.NearlyFull(room.Total);
        var before = now - (isShort ? KeptWhenShort : BlobRows.KeptFor);
        store.ClearUnfinished(now - UnfinishedFor);
        await DropOldClaimsAsync(before, cancellationToken);
        var removed = 0;
        List<string> some;
        while ((some = await Unused(before).OrderBy(b => b.Sha256).Select(b => b.Sha256).Take(BlobRows.Batch).ToListAsync(cancellationToken)).Count > 0)
        {
            if (await Unused(before).Where(b => some.Contains(b.Sha256)).ExecuteDeleteAsync(cancellationToken) == 0)
                break;
            removed += await RemoveBytesAsync(some, before, cancellationToken);
        }
        var bytesBefore = now - (isShort ? RowlessKeptWhenShort : BlobRows.KeptFor);
        foreach (var old in store.UntouchedSince(bytesBefore).Chunk(BlobRows.Batch))
            removed += await RemoveBytesAsync(old, bytesBefore, cancellationToken);
        return removed;
    }

    private IQueryable<Blob> Unused(DateTimeOffset before) => db.Blobs.Where(b => b.StoredAt < before
        && !db.ReleaseFiles.Any(f => f.Sha256 == b.Sha256)
        && !db.BlobClaims.Any(c => c.Sha256 == b.Sha256)
        && !db.Archives.Any(a => a.RecipeSha256 == b.Sha256)
        && !db.ListeningFiles.Any(f => f.Sha256 == b.Sha256)
        && !db.LibraryMusic.Any(m => m.SourceSha256 == b.Sha256 || m.OpusSha256 == b.Sha256 || m.WavSha256 == b.Sha256));

    /// <summary>A claim that the draft's manifest no longer bears out, made for a plan since replaced, lapses; manifests keep by themselves.</summary>
    private Task<int> DropOldClaimsAsync(DateTimeOffset before, CancellationToken cancellationToken) => db.BlobClaims
        .Where(c => c.ClaimedAt < before && !db.ReleaseFiles.Any(f => f.ReleaseId == c.ReleaseId && f.Sha256 == c.Sha256))
        .ExecuteDeleteAsync(cancellationToken);

    private async Task<int> RemoveBytesAsync(IReadOnlyCollection<string> hashes, DateTimeOffset before, CancellationToken cancellationToken)
    {
        var standing = await db.Blobs.Where(b => hashes.Contains(b.Sha256)).Select(b => b.Sha256).ToHashSetAsync(cancellationToken);
        return hashes.Count(hash => !standing.Contains(hash) && store.Remove(hash, before));
    }
}

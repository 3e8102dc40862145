using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Removes uploads that nobody went on with (<see cref="UploadExpiry"/>), rows of uploads finished as long ago, and bytes without
/// a row. Reads only rows that are old enough, and at most <see cref="AtOnce"/> of them: it comes again in a minute. Answers how
/// many were removed.
/// </summary>
public sealed class SweepUploads(ShelfDb db, UploadDesk desk, TimeProvider clock)
{
    /// <summary>Rows of one run, few enough that the database's one writer is held for some milliseconds.</summary>
    public const int AtOnce = 500;

    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var before = clock.GetUtcNow() - UploadExpiry.KeptFor;
        return await GivenUpAsync(before, cancellationToken)
            + await LongFinishedAsync(before, cancellationToken)
            + await WithoutRowAsync(before, cancellationToken);
    }

    private async Task<int> GivenUpAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        // An upload expires at the earliest KeptFor after its start, so younger rows need no look at their files.
        var old = await db.Uploads.AsNoTracking()
            .Where(u => u.FinishedAt == null && u.CreatedAt < before)
            .OrderBy(u => u.CreatedAt).Take(AtOnce).ToListAsync(cancellationToken);
        var over = old.FindAll(u => UploadExpiry.IsOver(u, desk, clock.GetUtcNow()));
        var removed = 0;
        foreach (var upload in over)
            removed += await RemoveAsync(upload.Id, cancellationToken) ? 1 : 0;
        return removed;
    }

    /// <summary>A zip that still waits to be unpacked, or whose bytes still wait to be cleared, is not finished with.</summary>
    private async Task<int> LongFinishedAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var ids = await db.Uploads
            .Where(u => u.FinishedAt < before && (u.Kind == UploadKind.File || u.UnpackedAt != null || u.Trouble != null))
            .OrderBy(u => u.FinishedAt).Select(u => u.Id).Take(AtOnce).ToListAsync(cancellationToken);
        ids.RemoveAll(desk.HasBytes);
        return ids.Count == 0 ? 0 : await db.Uploads.Where(u => ids.Contains(u.Id)).ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>Left by a kill between bytes and row, or by a zip from a form whose sender went away.</summary>
    private async Task<int> WithoutRowAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var old = desk.AllBytes().Where(f => f.WrittenAt < before).Select(f => f.Id).Take(AtOnce).ToList();
        if (old.Count == 0)
            return 0;
        var known = await db.Uploads.Where(u => old.Contains(u.Id)).Select(u => u.Id).ToHashSetAsync(cancellationToken);
        var removed = 0;
        foreach (var id in old.Where(id => !known.Contains(id)))
            removed += await RemoveAsync(id, cancellationToken) ? 1 : 0;
        return removed;
    }

    private async Task<bool> RemoveAsync(string id, CancellationToken cancellationToken)
    {
        using var lease = desk.TryTake(id);
        if (lease is null)
            return false;
        await db.Uploads.Where(u => u.Id == id && u.FinishedAt == null).ExecuteDeleteAsync(cancellationToken);
        lease.Forget();
        desk.DeleteBytes(id);
        return true;
    }
}

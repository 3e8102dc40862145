using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>Removes uploads that nobody went on with, and bytes without a row. Answers how many were removed.</summary>
public sealed class SweepUploads(ShelfDb db, UploadDesk desk, TimeProvider clock)
{
    /// <summary>An unfinished upload may be gone on with this long after its last byte.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromDays(7);

    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var before = clock.GetUtcNow() - KeptFor;
        var written = desk.AllBytes().ToDictionary(f => f.Id, f => f.WrittenAt, StringComparer.Ordinal);
        var rows = await db.Uploads.AsNoTracking().Where(u => u.FinishedAt == null).ToListAsync(cancellationToken);
        var stale = rows.Where(u => (written.TryGetValue(u.Id, out var at) && at > u.CreatedAt ? at : u.CreatedAt) < before).Select(u => u.Id).ToList();
        var known = await db.Uploads.Select(u => u.Id).ToHashSetAsync(cancellationToken);
        stale.AddRange(written.Where(w => w.Value < before && !known.Contains(w.Key)).Select(w => w.Key));
        foreach (var id in stale)
            await RemoveAsync(id, cancellationToken);
        return stale.Count;
    }

    private async Task RemoveAsync(string id, CancellationToken cancellationToken)
    {
        using var lease = desk.TryTake(id);
        if (lease is null)
            return;
        await db.Uploads.Where(u => u.Id == id && u.FinishedAt == null).ExecuteDeleteAsync(cancellationToken);
        lease.Forget();
        desk.DeleteBytes(id);
    }
}

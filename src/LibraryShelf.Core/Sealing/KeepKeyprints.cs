using LibraryShelf.Audio;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Keyprints;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>Makes up the rows of keyprints that are missing: of versions sealed before there were such rows, and of those that could not be drawn by older measures.</summary>
public sealed class KeepKeyprints(ShelfDb db)
{
    /// <summary>Versions in one run: thousands of recordings may have to be read for one.</summary>
    public const int AtOnce = 20;

    /// <returns>How many were made up; the rest waits for the next run.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var missing = await db.Releases
            .Where(r => r.SealedAt != null && !db.SealedKeyprints.Any(k => k.ReleaseId == r.Id && (k.Print != "" || k.Measures >= RecordingFacts.CurrentGeneration)))
            .OrderByDescending(r => r.Id).Select(r => r.Id).Take(AtOnce).ToListAsync(cancellationToken);
        foreach (var id in missing)
        {
            var made = await SealedKeyprint.MakeAsync(db, id, null, cancellationToken);
            // Another program on the same database may make up the same row at this moment.
            await FreshEyes.LookAsync(db, () => WriteAsync(id, made, cancellationToken), FreshEyes.Never<bool>);
        }
        return missing.Count;
    }

    private async Task<bool> WriteAsync(long releaseId, Keyprint made, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        var next = SealedKeyprint.Of(releaseId, made);
        if (await db.SealedKeyprints.SingleOrDefaultAsync(k => k.ReleaseId == releaseId, cancellationToken) is { } row)
            (row.Print, row.Measures) = (next.Print, next.Measures);
        else
            db.SealedKeyprints.Add(next);
        await db.SaveChangesAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return true;
    }
}

using LibraryShelf.Audio;
using LibraryShelf.Core.Data;
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
            var made = SealedKeyprint.Of(id, await SealedKeyprint.MakeAsync(db, id, cancellationToken));
            if (await db.SealedKeyprints.SingleOrDefaultAsync(k => k.ReleaseId == id, cancellationToken) is { } row)
                (row.Print, row.Measures) = (made.Print, made.Measures);
            else
                db.SealedKeyprints.Add(made);
            await db.SaveChangesAsync(cancellationToken);
            db.ChangeTracker.Clear();
        }
        return missing.Count;
    }
}

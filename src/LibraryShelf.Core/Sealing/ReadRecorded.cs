using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>Reads how a sealed version was recorded, from what was measured of its recordings, once; then it is known.</summary>
public sealed class ReadRecorded(ShelfDb db, KnownRecorded known)
{
    /// <param name="releaseId">A version that is sealed, and that whoever asks may see.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Null when nothing of it was measured.</returns>
    public async Task<Recorded?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (known.Of(releaseId) is { } recorded)
            return recorded;
        var facts = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId)
            .Join(db.Measurements, f => f.Sha256, m => m.Sha256, (_, m) => m.Facts).ToListAsync(cancellationToken);
        var sheet = await db.ReleaseSheets.AsNoTracking().SingleOrDefaultAsync(s => s.ReleaseId == releaseId, cancellationToken);
        var found = Recorded.Of(facts.ConvertAll(f => JsonSerializer.Deserialize<RecordingFacts>(f)!), sheet?.ReadPlaces() ?? []);
        // What was not measured yet may be later.
        if (found is not null)
            known.Keep(releaseId, found);
        return found;
    }
}

using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>Reads a release's whole sheet: findings, places and facts; null when there is no such release.</summary>
public sealed class ReadSheet(ShelfDb db)
{
    public async Task<SheetReading?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId).OrderBy(f => f.Path)
            .Select(f => new { f.Path, f.Sha256 }).ToListAsync(cancellationToken);
        var facts = await FactsAsync(releaseId, cancellationToken);
        var kept = await db.ReleaseSheets.AsNoTracking().SingleOrDefaultAsync(s => s.ReleaseId == releaseId, cancellationToken);
        var places = kept?.ReadPlaces().ToDictionary(p => p.Path, StringComparer.Ordinal) ?? [];
        var entries = await db.SheetEntries.AsNoTracking().Where(e => e.ReleaseId == releaseId).OrderBy(e => e.Order).ToListAsync(cancellationToken);
        var recordings = files.Where(f => FileKinds.Of(f.Path) == FileKind.Recording).ToDictionary(f => f.Path, StringComparer.Ordinal);
        var byPath = entries.Where(e => e.Path is not null && recordings.ContainsKey(e.Path)).ToLookup(e => e.Path!, StringComparer.Ordinal);
        return new SheetReading(
            release,
            [.. recordings.Values.Select(f => new SheetRecording(f.Path, f.Sha256, places.GetValueOrDefault(f.Path), facts.GetValueOrDefault(f.Sha256), [.. byPath[f.Path]]))],
            entries.FindAll(e => e.Path is null || !recordings.ContainsKey(e.Path)),
            LimitsOf(kept?.Limits ?? release.Library.Limits),
            kept is not null);
    }

    /// <summary>As last measured, by whichever generation: an old sheet keeps its figures.</summary>
    private async Task<Dictionary<string, RecordingFacts>> FactsAsync(long releaseId, CancellationToken cancellationToken)
    {
        var rows = await db.Measurements.Where(m => db.ReleaseFiles.Any(f => f.ReleaseId == releaseId && f.Sha256 == m.Sha256))
            .Select(m => new { m.Sha256, m.Facts }).ToListAsync(cancellationToken);
        return rows.ToDictionary(r => r.Sha256, r => JsonSerializer.Deserialize<RecordingFacts>(r.Facts)!, StringComparer.Ordinal);
    }

    private static LibraryLimits LimitsOf(string json) => LimitsText.TryRead(json, out var limits, out _) ? limits : LibraryLimits.Default;
}

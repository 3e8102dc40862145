using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>Reads what a version changed; null when there is no such release, or no such sealed version of its library to hold it against.</summary>
public sealed class ReadComparison(ShelfDb db)
{
    /// <param name="releaseId">The version that is looked at.</param>
    /// <param name="fromReleaseId">The one it is held against; null: the version before it.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<ComparisonReading?> RunAsync(long releaseId, long? fromReleaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var siblings = await VersionBefore.LoadAsync(db, release.LibraryId, cancellationToken);
        var others = siblings.Where(s => s.IsSealed && s.Id != releaseId).OrderByDescending(s => s.Number, ReleaseNumbers.ByPrecedence).ToList();
        var from = fromReleaseId is { } id ? others.Find(o => o.Id == id) : VersionBefore.Of(siblings.Single(s => s.Id == releaseId), siblings);
        if (from is null)
            return fromReleaseId is null ? new ComparisonReading(null, others, null, null, "", false, null, null) : null;
        var (row, holds) = await CurrentComparison.RowAsync(db, releaseId, from.Id, cancellationToken);
        var outcome = holds && row!.Outcome.Length > 0 ? JsonSerializer.Deserialize<CompareJson>(row.Outcome, ComparisonReading.Json) : null;
        var summary = holds ? ChangeSummary.Read(row!.Summary) : null;
        var limits = LimitsText.TryRead(release.Library.Limits, out var read, out _) ? read : LibraryLimits.Default;
        return new ComparisonReading(
            from, others, outcome, summary, outcome is null ? "" : DraftedChanges.Write(outcome.ToComparison(), new NoteNaming(limits.MiddleCOctave)), row?.AskedAt is not null, holds && row!.AskedAt is null ? row.Trouble : null, CurrentComparison.NumberReason(release.Number, release.WhySmallerNumber, release.WhySmallerThan, summary))
        {
            Far = outcome is null || row?.AskedAt is not null ? await ProgressNotes.ReadAsync(db, ProgressNotes.Compare(releaseId, from.Id), cancellationToken) : null,
            StoppedAt = holds && row!.AskedAt is null ? row.StoppedAt : null,
        };
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// Writes a release's sheet anew. An excuse goes on holding for the same code, path and bytes, also from an earlier version of the
/// same library; one about the whole library holds within its release while the finding reads the same.
/// </summary>
internal static class SheetWriting
{
    /// <summary>Expects the caller's transaction.</summary>
    public static async Task<List<SheetEntry>> ReplaceAsync(
        ShelfDb db, Release release, List<ReleaseFile> files, IReadOnlyList<Finding> findings, CancellationToken cancellationToken)
    {
        var hashes = files.ToDictionary(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var excuses = await ExcusesAsync(db, release, cancellationToken);
        await db.SheetEntries.Where(e => e.ReleaseId == release.Id).ExecuteDeleteAsync(cancellationToken);
        var entries = findings.Select((finding, order) => new SheetEntry
        {
            ReleaseId = release.Id,
            Code = finding.Code,
            Severity = finding.Severity,
            Path = finding.Path,
            ContentSha256 = finding.Path is null ? null : hashes.GetValueOrDefault(finding.Path),
            Message = finding.Message,
            Order = order,
        }).ToList();
        foreach (var same in entries.Where(e => e.Severity != Severity.Fine).GroupBy(KeyOf))
            Carry(excuses[same.Key].ToList(), [.. same]);
        db.SheetEntries.AddRange(entries);
        return entries;
    }

    private static async Task<ILookup<(string Code, string? Path, string? Content), SheetEntry>> ExcusesAsync(
        ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var excused = await db.SheetEntries.AsNoTracking()
            .Where(e => e.ExcuseReason != null
                && (e.ReleaseId == release.Id
                    || (e.ContentSha256 != null && db.Releases.Any(r => r.Id == e.ReleaseId && r.LibraryId == release.LibraryId))))
            .ToListAsync(cancellationToken);
        return excused.OrderByDescending(e => e.ReleaseId == release.Id).ThenByDescending(e => e.ExcusedAt).ToLookup(KeyOf);
    }

    /// <summary>
    /// Several findings may share code, path and bytes (lines of one mapping): then, and for the whole library, the message must be
    /// the same too.
    /// </summary>
    private static void Carry(List<SheetEntry> excused, List<SheetEntry> entries)
    {
        foreach (var entry in entries)
        {
            var isOnly = entries.Count == 1 && entry.ContentSha256 is not null && excused.Select(e => e.Message).Distinct(StringComparer.Ordinal).Count() == 1;
            if (excused.Find(e => isOnly || e.Message == entry.Message) is not { } excuse)
                continue;
            entry.ExcuseReason = excuse.ExcuseReason;
            entry.ExcusedAt = excuse.ExcusedAt;
        }
    }

    private static (string Code, string? Path, string? Content) KeyOf(SheetEntry entry) => (entry.Code, entry.Path, entry.ContentSha256);
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// Writes a release's sheet anew. An excuse goes on holding for the same code and bytes, also from an earlier version of the same library:
/// at the same path, or where the recording was moved to or renamed, unless the finding is about its name. One about a mapping stays with
/// its path; one about the whole library holds within its release while the finding says the same, in whatever language.
/// </summary>
internal static class SheetWriting
{
    /// <summary>Expects the caller's transaction.</summary>
    public static async Task<List<SheetEntry>> ReplaceAsync(
        ShelfDb db, Release release, List<ReleaseFile> files, CheckSheet sheet, string limits, CancellationToken cancellationToken)
    {
        var hashes = files.ToDictionary(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var excuses = await ExcusesAsync(db, release, cancellationToken);
        await db.SheetEntries.Where(e => e.ReleaseId == release.Id).ExecuteDeleteAsync(cancellationToken);
        await db.ReleaseSheets.Where(s => s.ReleaseId == release.Id).ExecuteDeleteAsync(cancellationToken);
        db.ReleaseSheets.Add(ReleaseSheet.Of(release.Id, sheet.Places, limits));
        var entries = sheet.Findings.Select((finding, order) => new SheetEntry
        {
            ReleaseId = release.Id,
            Code = finding.Code,
            Severity = finding.Severity,
            Path = finding.Path,
            ContentSha256 = finding.Path is null ? null : hashes.GetValueOrDefault(finding.Path),
            Message = finding.Message,
            Order = order,
        }).ToList();
        var byPath = excuses.ToLookup(KeyOf);
        foreach (var same in entries.Where(e => e.MayBeExcused).GroupBy(KeyOf))
            Carry(byPath[same.Key].ToList(), [.. same]);
        var moved = excuses.Where(e => MayMove(e) && hashes.GetValueOrDefault(e.Path!) != e.ContentSha256).ToLookup(e => (e.Code, e.ContentSha256));
        foreach (var entry in entries.Where(e => e.ExcuseReason is null && MayMove(e)))
            Carry(moved[(entry.Code, entry.ContentSha256)].ToList(), [entry]);
        await db.AddManyAsync(entries, cancellationToken);
        return entries;
    }

    private static async Task<List<SheetEntry>> ExcusesAsync(
        ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var excused = await db.SheetEntries.AsNoTracking()
            .Where(e => e.ExcuseReason != null
                && (e.ReleaseId == release.Id
                    || (e.ContentSha256 != null && db.Releases.Any(r => r.Id == e.ReleaseId && r.LibraryId == release.LibraryId))))
            .ToListAsync(cancellationToken);
        return [.. excused.OrderByDescending(e => e.ReleaseId == release.Id).ThenByDescending(e => e.ExcusedAt)];
    }

    /// <summary>What is said of a recording's sound holds under any name; what is said of its name does not.</summary>
    private static bool MayMove(SheetEntry entry) =>
        entry is { Path: { } path, ContentSha256: not null } && FileKinds.Of(path) == FileKind.Recording
        && !entry.Code.StartsWith("name-", StringComparison.Ordinal) && entry.Code != FindingCodes.NoteDisagrees;

    /// <summary>
    /// Several findings may share code, path and bytes (lines of one mapping): then, and for the whole library, the message must be
    /// the same too, or say the same in another language: as many with the same numbers and names, one after the other.
    /// </summary>
    private static void Carry(List<SheetEntry> excused, List<SheetEntry> entries)
    {
        foreach (var entry in entries)
        {
            var isOnly = entries.Count == 1 && entry.ContentSha256 is not null && excused.Select(e => e.Message).Distinct(StringComparer.Ordinal).Count() == 1;
            if (excused.Find(e => isOnly || e.Message == entry.Message) is { } excuse)
                Carry(excuse, entry);
        }
        var left = excused.Where(e => !entries.Exists(n => n.Message == e.Message)).ToLookup(e => SaidOtherwise.FactsOf(e.Message), StringComparer.Ordinal);
        foreach (var same in entries.Where(e => e.ExcuseReason is null).GroupBy(e => SaidOtherwise.FactsOf(e.Message), StringComparer.Ordinal))
        {
            var before = left[same.Key].GroupBy(e => e.ReleaseId).Select(g => g.OrderBy(e => e.Order).ToList()).FirstOrDefault(g => g.Count == same.Count());
            foreach (var (excuse, entry) in (before ?? []).Zip(same))
                Carry(excuse, entry);
        }
    }

    private static void Carry(SheetEntry excuse, SheetEntry entry)
    {
        entry.ExcuseReason = excuse.ExcuseReason;
        entry.ExcusedAt = excuse.ExcusedAt;
    }

    private static (string Code, string? Path, string? Content) KeyOf(SheetEntry entry) => (entry.Code, entry.Path, entry.ContentSha256);
}

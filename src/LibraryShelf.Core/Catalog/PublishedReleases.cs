using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>A published version as the shelf shows it; <paramref name="Size"/> is the whole library's archive in bytes.</summary>
public sealed record ShelfRelease(Release Row, long Size)
{
    public long Id => Row.Id;
    public string Number => Row.Number;
    /// <summary>Published rows always carry it.</summary>
    public DateTimeOffset PublishedAt => Row.PublishedAt ?? Row.CreatedAt;
    public IReadOnlyList<ReleasePlayer> Players { get; } = [.. Row.Players.OrderBy(p => p.Order).ThenBy(p => p.Id)];
}

/// <summary>Reads published versions without their manifests; a version without an archive can't be taken and is left out.</summary>
internal static class PublishedReleases
{
    /// <summary>By library, highest number first (SemVer 2.0.0 §11). A null <paramref name="libraryId"/> means every library.</summary>
    public static async Task<ILookup<long, ShelfRelease>> LoadAsync(ShelfDb db, long? libraryId, CancellationToken cancellationToken)
    {
        var rows = await db.Releases.AsNoTracking().Include(r => r.Players)
            .Where(r => r.State == ReleaseState.Published && (libraryId == null || r.LibraryId == libraryId))
            .ToListAsync(cancellationToken);
        var archives = await db.Archives.AsNoTracking()
            .Where(a => a.Kind == ArchiveKind.Full && db.Releases.Any(r => r.Id == a.ReleaseId
                && r.State == ReleaseState.Published && (libraryId == null || r.LibraryId == libraryId)))
            .GroupBy(a => a.ReleaseId).Select(g => new { ReleaseId = g.Key, Length = g.Max(a => a.Length) })
            .ToDictionaryAsync(a => a.ReleaseId, a => a.Length, cancellationToken);
        return rows.Where(r => archives.ContainsKey(r.Id))
            .Select(r => (Release: new ShelfRelease(r, archives[r.Id]), Number: ReleaseNumber.TryParse(r.Number)))
            .OrderByDescending(r => r.Number, ByPrecedence).ThenByDescending(r => r.Release.PublishedAt)
            .ToLookup(r => r.Release.Row.LibraryId, r => r.Release);
    }

    /// <summary>A number that is none (never written by our verbs) stands last.</summary>
    public static readonly Comparer<ReleaseNumber?> ByPrecedence = Comparer<ReleaseNumber?>.Create((left, right) => (left, right) switch
    {
        (null, null) => 0,
        (null, _) => -1,
        (_, null) => 1,
        _ => ReleaseNumber.Compare(left, right),
    });
}

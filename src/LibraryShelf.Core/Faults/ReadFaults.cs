using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>
/// A told fault as the maker reads it. <paramref name="HasReporter"/>: there is somebody to answer. <paramref name="IsUnchanged"/>: the
/// recording it names has the same bytes in the release in work; null when none is named or none is in work.
/// </summary>
public sealed record FaultLine(FaultReport Report, string Number, string? MendedIn, bool HasReporter, bool? IsUnchanged)
{
    /// <summary>Nobody was told that it is mended, so that this can still be taken back.</summary>
    public bool MayOpenAgain => Report is { SettledAt: not null } && (Report.MendedInReleaseId is null || Report.ToldAt is null);
}

/// <summary>
/// What people told of one library. <paramref name="Open"/> oldest first; <paramref name="Settled"/> newest first, at most
/// <see cref="ReadFaults.MostSettled"/>; <paramref name="People"/> counts who told what is open, each visitor for one.
/// </summary>
/// <param name="Library">Which library.</param>
/// <param name="Open">Neither mended nor put away.</param>
/// <param name="Settled">Mended or put away.</param>
/// <param name="People">How many told what is open.</param>
/// <param name="InWork">The unsealed release, in which faults can be mended; null when there is none.</param>
public sealed record FaultList(Library Library, IReadOnlyList<FaultLine> Open, IReadOnlyList<FaultLine> Settled, int People, Release? InWork);

/// <summary>Reads what people told of one library; null when there is no such library.</summary>
public sealed class ReadFaults(ShelfDb db)
{
    public const int MostSettled = 50;

    /// <summary>More are not shown at once: these have to be settled first.</summary>
    public const int MostOpen = 200;

    public async Task<FaultList?> RunAsync(string slug, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.AsNoTracking().FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return null;
        var inWork = await db.Releases.AsNoTracking().FirstOrDefaultAsync(r => r.LibraryId == library.Id && r.SealedAt == null, cancellationToken);
        var ofLibrary = db.FaultReports.AsNoTracking().Where(f => f.LibraryId == library.Id);
        var open = ofLibrary.Where(f => f.SettledAt == null);
        var numbers = await db.Releases.Where(r => r.LibraryId == library.Id).ToDictionaryAsync(r => r.Id, r => r.Number, cancellationToken);
        var shown = await open.OrderBy(f => f.ReportedAt).ThenBy(f => f.Id).Take(MostOpen).ToListAsync(cancellationToken);
        var settled = await ofLibrary.Where(f => f.SettledAt != null).OrderByDescending(f => f.SettledAt).ThenByDescending(f => f.Id)
            .Take(MostSettled).ToListAsync(cancellationToken);
        var unchanged = await UnchangedAsync([.. shown.Concat(settled).Where(f => f.Path is not null).Select(f => f.Id)], inWork?.Id, cancellationToken);
        var people = await open.Where(f => f.PersonId != null).Select(f => f.PersonId).Distinct().CountAsync(cancellationToken)
            + await open.CountAsync(f => f.PersonId == null, cancellationToken);
        return new FaultList(
            library,
            [.. shown.Select(Line)],
            [.. settled.Select(Line)],
            people, inWork);

        FaultLine Line(FaultReport f) => new(
            f, numbers[f.ReleaseId], f.MendedInReleaseId is { } mended ? numbers.GetValueOrDefault(mended) : null, f.PersonId is not null,
            inWork is null || f.Path is null ? null : unchanged.Contains(f.Id));
    }

    /// <summary>Those of these whose recording, as it was in the version it was heard in, is in the release in work under any name.</summary>
    private async Task<HashSet<long>> UnchangedAsync(List<long> faults, long? inWork, CancellationToken cancellationToken) => inWork is null ? [] :
    [
        .. await (from f in db.FaultReports
                  where faults.Contains(f.Id)
                  join was in db.ReleaseFiles on new { f.ReleaseId, Path = f.Path! } equals new { was.ReleaseId, was.Path }
                  where db.ReleaseFiles.Any(now => now.ReleaseId == inWork && now.Sha256 == was.Sha256)
                  select f.Id).ToListAsync(cancellationToken),
    ];
}

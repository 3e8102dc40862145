using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Reads what was most wanted, most updated, begun and never finished, where people came from and what they looked for in vain: from rolled-up days.</summary>
public sealed class ReadLibraryNumbers(ShelfDb db, TimeProvider clock)
{
    /// <summary>A download younger than this may still go on: as long as a link's time to resume usually is.</summary>
    public static readonly Period Patience = Period.FromDays(7);

    public async Task<LibraryNumbers> RunAsync(Func<LocalDate, DayRange> range, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(range);
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var today = Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date;
        var days = range(today);
        var libraries = await db.Libraries.OrderBy(l => l.Title).Select(l => new { l.Id, l.Slug, l.Title }).ToListAsync(cancellationToken);
        return new(days, zone.Id, await BoxesAsync(libraries.ConvertAll(l => (l.Id, l.Slug, l.Title)), days, today - Patience, cancellationToken),
            await ReferrersAsync(libraries.ToDictionary(l => l.Id, l => l.Title), days, cancellationToken), await new ReadSeen(db).RunAsync(SightingKind.Search, days, cancellationToken));
    }

    private async Task<List<BoxNumbers>> BoxesAsync(List<(long Id, string Slug, string Title)> libraries, DayRange days, LocalDate settled, CancellationToken cancellationToken)
    {
        var counts = db.DayCounts.Where(c => c.Day >= days.First && c.Day <= days.Last && c.DropId == 0 && (c.By == FetchedBy.Free || c.By == FetchedBy.Members));
        var finished = await counts.GroupBy(c => new { c.LibraryId, c.Kind }).Select(g => new { g.Key.LibraryId, g.Key.Kind, Finished = g.Sum(c => c.Finished) }).ToListAsync(cancellationToken);
        var begun = await counts.Where(c => c.Day <= settled).GroupBy(c => c.LibraryId)
            .Select(g => new { LibraryId = g.Key, Started = g.Sum(c => c.Started), Ended = g.Sum(c => c.Ended), Resumes = g.Sum(c => c.Resumes) }).ToDictionaryAsync(g => g.LibraryId, cancellationToken);
        var sizes = await db.Archives.Where(a => a.Kind == ArchiveKind.Full).Join(db.Releases, a => a.ReleaseId, r => r.Id, (a, r) => new { r.LibraryId, r.Number, a.Length }).ToListAsync(cancellationToken);
        var newest = sizes.GroupBy(s => s.LibraryId).ToDictionary(g => g.Key, g => g.MaxBy(s => s.Number, ReleaseNumbers.ByPrecedence)!.Length);
        return libraries.ConvertAll(l =>
        {
            var settledOnes = begun.GetValueOrDefault(l.Id);
            return new BoxNumbers(l.Id, l.Slug, l.Title, newest.GetValueOrDefault(l.Id), FinishedOf(l.Id, FetchedKind.Whole), FinishedOf(l.Id, FetchedKind.Update),
                settledOnes?.Started ?? 0, (settledOnes?.Started ?? 0) - (settledOnes?.Ended ?? 0), settledOnes?.Resumes ?? 0);
        });

        int FinishedOf(long libraryId, FetchedKind kind) => finished.Find(f => f.LibraryId == libraryId && f.Kind == kind)?.Finished ?? 0;
    }

    private async Task<List<SeenFrom>> ReferrersAsync(Dictionary<long, string> titles, DayRange days, CancellationToken cancellationToken) =>
        [.. (await Seen(SightingKind.Referrer, days).GroupBy(s => new { s.Word, s.LibraryId })
            .Select(g => new { g.Key.Word, g.Key.LibraryId, Times = g.Sum(s => s.Times) }).ToListAsync(cancellationToken))
            .Select(s => new SeenFrom(s.Word, titles.GetValueOrDefault(s.LibraryId) ?? "", s.Times))
            .OrderByDescending(s => s.Times).ThenBy(s => s.Host, StringComparer.Ordinal).ThenBy(s => s.Title, StringComparer.Ordinal)];

    private IQueryable<Sighting> Seen(SightingKind kind, DayRange days) => db.Sightings.Where(s => s.Kind == kind && s.Day >= days.First && s.Day <= days.Last);
}

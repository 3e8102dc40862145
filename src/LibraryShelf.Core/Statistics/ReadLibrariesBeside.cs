using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Reads the figures of boxes in other days, to stand beside those of some: of hosts and searches, how often those that are shown were seen then, and how often all were.
/// What was seen then alone is not among them; the other days' own file has it.
/// </summary>
public sealed class ReadLibrariesBeside(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<LibrariesBeside> RunAsync(LibraryNumbers shown, DayRange other, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(shown);
        var numbers = await new ReadLibraryNumbers(db, clock).RunAsync(_ => other, most: 0, cancellationToken);
        var seen = new ReadSeen(db);
        var then = await seen.SumsAsync(
            other, [new(SightingKind.Referrer, IsByBox: true, [.. shown.Referrers.Select(r => r.Host).Distinct()]), new(SightingKind.Search, IsByBox: false, [.. shown.Searches.Select(s => s.Word)])], cancellationToken);
        var all = await AllAsync(shown, seen, cancellationToken);
        var kept = await new ReadWordsKept(db, clock, settings).RunAsync(cancellationToken);
        var those = numbers with
        {
            Referrers = [.. shown.Referrers.Select(r => r with { Times = then.Words.GetValueOrDefault((SightingKind.Referrer, r.Host, r.LibraryId)) })],
            Searches = [.. shown.Searches.Select(s => s with { Times = then.Words.GetValueOrDefault((SightingKind.Search, s.Word, 0)) })],
        };
        return new(
            shown, those, new(all.Referrers, then.All[SightingKind.Referrer]), new(all.Searches, then.All[SightingKind.Search]), kept is null || LocalDate.Min(shown.Range.First, other.First) >= kept);
    }

    /// <summary>How often anybody came from another site in the days shown, and anything was looked for in vain; asked only where not all of it is shown.</summary>
    private static async Task<(long Referrers, long Searches)> AllAsync(LibraryNumbers shown, ReadSeen seen, CancellationToken cancellationToken)
    {
        List<SeenWords> cut = [];
        if (shown.AreMoreReferrers)
            cut.Add(new(SightingKind.Referrer, IsByBox: false, []));
        if (shown.AreMoreSearches)
            cut.Add(new(SightingKind.Search, IsByBox: false, []));
        var sums = cut.Count == 0 ? null : (await seen.SumsAsync(shown.Range, cut, cancellationToken)).All;
        return (shown.AreMoreReferrers ? sums![SightingKind.Referrer] : shown.Referrers.Sum(r => (long)r.Times), shown.AreMoreSearches ? sums![SightingKind.Search] : shown.Searches.Sum(s => (long)s.Times));
    }
}

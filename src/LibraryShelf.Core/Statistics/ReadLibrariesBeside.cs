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
        var hosts = await seen.TimesAsync(SightingKind.Referrer, other, isByBox: true, [.. shown.Referrers.Select(r => r.Host).Distinct()], cancellationToken);
        var searches = await seen.TimesAsync(SightingKind.Search, other, isByBox: false, [.. shown.Searches.Select(s => s.Word)], cancellationToken);
        var kept = await new ReadWordsKept(db, clock, settings).RunAsync(cancellationToken);
        var those = numbers with
        {
            Referrers = [.. shown.Referrers.Select(r => r with { Times = hosts.GetValueOrDefault((r.Host, r.LibraryId)) })],
            Searches = [.. shown.Searches.Select(s => s with { Times = searches.GetValueOrDefault((s.Word, 0)) })],
        };
        return new(shown, those, await InBothAsync(SightingKind.Referrer), await InBothAsync(SightingKind.Search), kept is null || LocalDate.Min(shown.Range.First, other.First) >= kept);

        async Task<SeenInBoth> InBothAsync(SightingKind kind) => new(await seen.SumAsync(kind, shown.Range, cancellationToken), await seen.SumAsync(kind, other, cancellationToken));
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Where invented people came from, and what they looked for in vain, since the shop was opened: counted and written down as the shelf does it.</summary>
internal sealed class SeedSightings(Steps steps, SettableClock clock)
{
    private const int EveryDays = 3;
    /// <summary>Of somebody who came, to a box's page and not to the shelf.</summary>
    private const double ToABox = 0.6;

    private readonly SplitMix _chance = SplitMix.For("where people came from");

    /// <summary>How many come in a year, and from how many days ago on.</summary>
    private static readonly (string Host, int Times, int SinceDaysAgo)[] Hosts =
        [("tin-and-reed.example", 800, 999), ("harbour-radio.example", 450, 999), ("shed-orchestra.example", 350, 60), ("found-sounds.example", 220, 200)];

    private static readonly (string Words, int Times, int SinceDaysAgo)[] Searches =
        [("bowed saw", 60, 999), ("rain barrel", 35, 999), ("church bell", 20, 120), ("accordion", 14, 40), ("bass marimba", 9, 999)];

    public async Task RunAsync(ShopRecipe shop, Days days, CancellationToken cancellationToken)
    {
        var boxes = await steps.TakeAsync<ShelfDb, Dictionary<string, long>>(db => db.Libraries.ToDictionaryAsync(l => l.Slug, l => l.Id, cancellationToken));
        for (var ago = shop.OpenedDaysAgo; ago > 0; ago -= EveryDays)
        {
            clock.Now = days.Ago(ago);
            var onShelf = shop.Libraries.Where(l => l.Versions[0].DaysAgo > ago).Select(l => boxes[l.Slug]).ToList();
            await steps.TakeAsync<Sightings, bool>(seen => Task.FromResult(See(seen, ago, onShelf)));
            await steps.TakeAsync<KeepSightings, int>(v => v.RunAsync(cancellationToken));
        }
    }

    private bool See(Sightings seen, int ago, List<long> boxes)
    {
        foreach (var (host, times, _) in Hosts.Where(h => ago <= h.SinceDaysAgo))
            for (var n = Some(times); n > 0; n--)
                seen.Add(SightingKind.Referrer, boxes.Count > 0 && _chance.Unit() < ToABox ? boxes[(int)(boxes.Count * _chance.Unit())] : 0, host);
        foreach (var (words, times, _) in Searches.Where(s => ago <= s.SinceDaysAgo))
            for (var n = Some(times); n > 0; n--)
                seen.Add(SightingKind.Search, 0, words);
        return true;
    }

    /// <summary>Of so many a year those of three days, about.</summary>
    private int Some(int inAYear) => (int)(inAYear * EveryDays / 365.0 * 2 * _chance.Unit() + _chance.Unit());
}

using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>
/// Invented people who sign in for what is free and were never members: whom the shop knows for a while, which boxes they take, and how long after a new version
/// they fetch it, if they do. Enough of them that a picture of versions has a shape.
/// </summary>
internal sealed class ListenersPast
{
    private const int Many = 120;
    /// <summary>The first of them came so many days ago.</summary>
    private const int Longest = 400;
    private const double TakesABox = 0.55;
    private const double FetchesTheNext = 0.8;
    /// <summary>Where another player is needed.</summary>
    private const double FetchesTheNextForAnotherPlayer = 0.66;
    /// <summary>Half of those who fetch a new version have it after about so many days: many at once, some late.</summary>
    private const double HalfAfterDays = 8;

    private static readonly string[] First = ["alba", "benno", "cass", "dara", "edda", "finn", "gwen", "hale", "isla", "jory", "kit", "lene"];
    private static readonly string[] Last = ["ashby", "brook", "carr", "dunmore", "eyre", "fell", "grange", "hythe", "ivory", "jarrow"];

    private readonly SplitMix _chance = SplitMix.For("listeners");

    /// <summary>In the order in which they came.</summary>
    public static List<Person> People(DateTimeOffset now)
    {
        var chance = SplitMix.For("listeners came");
        return [.. Enumerable.Range(0, Many).Select(i => Known($"{First[i % First.Length]}.{Last[i / First.Length]}@example.org", now.AddDays(-4 - (Longest * Math.Sqrt(chance.Unit())))))
            .OrderBy(p => p.CreatedAt)];
    }

    private static Person Known(string email, DateTimeOffset since) => new()
    {
        Email = email, NormalizedEmail = email.ToUpperInvariant(), UserName = email, NormalizedUserName = email.ToUpperInvariant(), EmailConfirmed = true,
        SecurityStamp = Guid.NewGuid().ToString("N"), LockoutEnabled = true, CreatedAt = since,
    };

    /// <summary>Which version of which box each of them fetched, and when: always one that was free for everyone then.</summary>
    /// <param name="people">As they are in the database.</param>
    /// <param name="shelf">What stands there.</param>
    /// <param name="now">Nothing is later.</param>
    public IEnumerable<(ShelvedRelease Release, KnownPerson Person, DateTimeOffset At)> Fetched(
        IReadOnlyList<(KnownPerson Known, DateTimeOffset Since)> people, IReadOnlyList<ShelvedRelease> shelf, DateTimeOffset now)
    {
        var boxes = shelf.GroupBy(s => s.Library.Id).Select(g => g.OrderBy(s => s.Release.PublishedAt).ToList()).ToList();
        foreach (var (person, since) in people)
            foreach (var box in boxes)
                foreach (var (release, at) in OfBox(box, since))
                    if (at <= now && release.Library.AudienceAt(at) == Audience.Free)
                        yield return (release, person, at);
    }

    private IEnumerable<(ShelvedRelease Release, DateTimeOffset At)> OfBox(List<ShelvedRelease> versions, DateTimeOffset since)
    {
        // The same draws whatever becomes of them, so that one box more changes nothing of the others' people.
        var (takes, first) = (_chance.Unit() < TakesABox, Later(20));
        var draws = versions.ConvertAll(_ => (Fetches: _chance.Unit(), After: Later(HalfAfterDays)));
        if (!takes)
            yield break;
        var began = since > versions[0].Release.PublishedAt!.Value ? since : versions[0].Release.PublishedAt!.Value;
        var at = began + first;
        var has = versions.FindLastIndex(v => v.Release.PublishedAt <= at);
        yield return (versions[has], at);
        for (var next = has + 1; next < versions.Count; next++)
        {
            if (draws[next].Fetches > (IsForAnotherPlayer(versions[has], versions[next]) ? FetchesTheNextForAnotherPlayer : FetchesTheNext))
                continue;
            at = versions[next].Release.PublishedAt!.Value + draws[next].After;
            has = next;
            yield return (versions[next], at);
        }
    }

    private static bool IsForAnotherPlayer(ShelvedRelease has, ShelvedRelease next) =>
        next.Release.Players.TrueForAll(n => has.Release.Players.TrueForAll(h => h.Name != n.Name || h.LowestVersion != n.LowestVersion));

    /// <summary>Exponential, with this median, days.</summary>
    private TimeSpan Later(double median) => TimeSpan.FromDays(0.05 - (median / Math.Log(2) * Math.Log(1 - _chance.Unit())));
}

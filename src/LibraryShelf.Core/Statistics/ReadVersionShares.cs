using LibraryShelf.Core.Data;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>Reads who is on which version of a box, in the shop's days, from the sums that <see cref="RollUpVersions"/> keeps. docs/counting.md says what they are.</summary>
public sealed class ReadVersionShares(ShelfDb db, TimeProvider clock)
{
    /// <summary>Half a year.</summary>
    public const int UsualDays = 183;

    /// <param name="slug">A box; null, or one that is not there: of those with a new version lately the one in which most people moved on in the last 60 days.</param>
    /// <param name="range">Which days, today given.</param>
    /// <param name="uptakes">Of so many versions, those that came out last, how they were taken up: a question each.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<VersionShares> RunAsync(string? slug, Func<LocalDate, DayRange> range, int uptakes, CancellationToken cancellationToken)
    {
        var rows = new ShareRows(db);
        var (zone, today) = await rows.TodayAsync(clock, cancellationToken);
        var boxes = await rows.BoxesAsync(cancellationToken);
        var days = range(today);
        var chosen = boxes.Find(b => b.Slug == slug) ?? await rows.BusiestAsync(boxes, today, cancellationToken);
        List<NumbersBox> listed = [.. boxes.OrderBy(b => b.Title, StringComparer.Ordinal).Select(b => new NumbersBox(b.Slug, b.Title))];
        return chosen is null ? new(null, listed, days, zone.Id, [], null, [], [])
            : await rows.OfAsync(chosen, listed, days, zone, uptakes, cancellationToken);
    }
}

/// <summary>Several boxes at a glance: those of whose versions one came out last, first; each over half a year up to today, without uptakes.</summary>
public sealed class ReadNewestShares(ShelfDb db, TimeProvider clock)
{
    /// <param name="most">How many at most.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<IReadOnlyList<VersionShares>> RunAsync(int most, CancellationToken cancellationToken)
    {
        var rows = new ShareRows(db);
        var (zone, today) = await rows.TodayAsync(clock, cancellationToken);
        var days = DayRange.Read(null, null, today, ReadVersionShares.UsualDays);
        var shares = new List<VersionShares>();
        // A box nobody has anything of has no share to show; another takes its place, but not all of them are looked at for that.
        foreach (var box in (await rows.BoxesAsync(cancellationToken)).OrderByDescending(b => b.OutAt).Take(most * 3))
            if (shares.Count < most && await rows.OfAsync(box, [], days, zone, uptakes: 0, cancellationToken) is { People: > 0 } one)
                shares.Add(one);
        return shares;
    }
}

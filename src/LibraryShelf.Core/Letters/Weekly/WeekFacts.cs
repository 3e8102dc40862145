using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>What the pages under Numbers know of a week.</summary>
/// <param name="Week">It.</param>
/// <param name="Finished">Downloads finished in it.</param>
/// <param name="FinishedBefore">In the weeks before it, at most four, that were whole on this shelf.</param>
/// <param name="Moves">Members who came and went in it.</param>
/// <param name="Drop">Of the month the letter is written in, or nothing.</param>
/// <param name="Drops">All drops, to hold that one against.</param>
/// <param name="Behind">Boxes and who has which version of them by now.</param>
/// <param name="Today">When the letter is written.</param>
/// <param name="Boxes">What was fetched of each in the week.</param>
/// <param name="Settled">What was fetched in the four weeks before it, which has had its time to be finished.</param>
/// <param name="Searches">What was looked for in vain in the week, most often first.</param>
internal sealed record WeekFacts(
    IsoWeek Week, int Finished, int FinishedBefore, MemberMoves Moves, UptakeLine? Drop, DropNumbers Drops, IReadOnlyList<VersionShares> Behind, LocalDate Today,
    IReadOnlyList<BoxNumbers> Boxes, IReadOnlyList<BoxNumbers> Settled, IReadOnlyList<SeenTimes> Searches)
{
    /// <summary>Of the four weeks before it, those that were whole on this shelf: from its first day with a download on.</summary>
    public int WeeksBefore { get; init; } = 4;
}

/// <summary>Asks the readers that the pages ask.</summary>
internal sealed class WeekReading(ShelfDb db, TimeProvider clock)
{
    /// <summary>Boxes whose versions are looked at: those with the newest ones.</summary>
    private const int MostBoxes = 20;

    public async Task<WeekFacts> OfAsync(IsoWeek week, DateTimeZone zone, CancellationToken cancellationToken)
    {
        var today = Instant.FromDateTimeOffset(clock.GetUtcNow()).InZone(zone).Date;
        var numbers = new ReadNumbers(db, clock);
        var libraries = new ReadLibraryNumbers(db, clock);
        var drops = await new ReadDropUptakes(db, clock).RunAsync(null, null, cancellationToken);
        var inWeek = await libraries.RunAsync(_ => week.Days, int.MaxValue, cancellationToken);
        var weeks = await db.DaySums.OrderBy(s => s.Day).Select(s => (LocalDate?)s.Day).FirstOrDefaultAsync(cancellationToken) is { } first ? week.WeeksSince(first) : 0;
        return new(
            week, (await numbers.RunAsync(null, _ => week.Days, cancellationToken)).Finished, (await numbers.RunAsync(null, _ => week.WeeksBefore(weeks), cancellationToken)).Finished,
            await new ReadMemberMoves(db, clock).RunAsync(week.Days, cancellationToken),
            drops.Lines.FirstOrDefault(l => l.Month == today.ToYearMonth()), drops,
            await new ReadNewestShares(db, clock).RunAsync(MostBoxes, cancellationToken), today,
            inWeek.Boxes, (await libraries.RunAsync(_ => week.FourBefore, most: 0, cancellationToken)).Boxes, inWeek.Searches) { WeeksBefore = weeks };
    }
}

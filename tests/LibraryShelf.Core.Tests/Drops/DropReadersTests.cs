using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Tests.Accounts;
using NodaTime;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>Whom a drop's letter is written to: exactly those whom rights give it.</summary>
public sealed class DropReadersTests
{
    private static readonly DateTimeOffset First = new(2026, 12, 1, 0, 0, 0, TimeSpan.Zero);

    /// <summary>The drop of December, sent on the 20th at noon. What each line is, in days from the first of December, and whether they have it.</summary>
    public static TheoryData<string, double, double?, bool> People { get; } = new()
    {
        { "gift", -100, null, true },
        { "gift", -10, 40, true },
        { "gift", -10, 19.5, false },     // from 21 November: its first month, and no second
        { "gift", -11, 19.5, true },      // from 20 November: a second month began on 20 December, at midnight
        { "gift", 0, 1, true },           // the day it was given for
        { "gift", 19, 19.2, true },
        { "gift", -40, 0, false },        // from 22 October: November's is its last
        { "gift", -91, 1, true },         // from 1 September: a fourth month began on 1 December
        { "gift", 19.5, 30, true },       // from this instant
        { "gift", 20, 60, false },        // not yet
        { "paid", -40, 60, true },
        { "paid", -40, 10, false },       // left, and paid for other months
        { "paid month", 0, null, true },  // left, and paid for December
        { "paid month", 19.6, null, false },
        { "next month", 0, null, false },
        { "month before", 0, null, false },
        { "stranger", 0, null, false },
    };

    [Fact]
    public async Task They_are_written_to_once_each_and_nobody_else_is()
    {
        await using var bench = await MakeAsync();
        bench.Shelf.Clock.SetUtcNow(First.AddDays(19.5));
        var kettle = await bench.NewAsync("Mended Kettle");
        var drop = await bench.DropAsync(December, default, kettle);
        List<(long Id, bool Has, string Words)> all = [];
        foreach (var row in People)
        {
            var (what, from, until, has) = ((string)row[0], (double)row[1], (double?)row[2], (bool)row[3]);
            all.Add((await AddAsync(bench, $"p{all.Count}@post.example", what, First.AddDays(from), until is { } days ? First.AddDays(days) : null), has, $"{what} {from} {until}"));
        }
        // Whose it is in three ways is one reader.
        var thrice = await AddAsync(bench, "thrice@post.example", "gift", First.AddDays(1), First.AddDays(2));
        await AddAsync(bench, "thrice@post.example", "paid month", First, null);
        await AddAsync(bench, "thrice@post.example", "paid", First, First.AddDays(60));
        all.Add((thrice, true, "thrice"));

        Assert.Equal(all.Count(p => p.Has), (await bench.SentAsync(drop)).Mails);
        var written = (await bench.MailsAsync()).ConvertAll(m => m.PersonId!.Value);
        foreach (var (id, has, words) in all)
        {
            Assert.True(has == MayDownload.IsYes(await bench.RightsAsync(kettle, id)), $"rights of {words}");
            Assert.True((has ? 1 : 0) == written.Count(w => w == id), $"mails to {words}");
        }
        Assert.Equal(all.Count(p => p.Has), written.Count);
    }

    private static Task<long> AddAsync(DropBench bench, string email, string what, DateTimeOffset from, DateTimeOffset? until) => bench.WithAsync(async db =>
    {
        var person = await TestPeople.FindOrAddAsync(db, email, bench.Now);
        if (what == "gift")
            db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = from, Until = until });
        if (what == "paid")
            db.PaidMemberships.Add(new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{email}", StartedAt = from, PaidThrough = until, ActiveUntil = until!.Value });
        if (what.Contains("month", StringComparison.Ordinal))
            db.PaidMonths.Add(new PaidMonth { PersonId = person.Id, Month = December.PlusMonths(what switch { "next month" => 1, "month before" => -1, _ => 0 }), PaymentId = "in_1", OpensAt = from });
        await db.SaveChangesAsync();
        return person.Id;
    });
}

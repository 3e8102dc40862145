using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>An address follows a library once it said yes itself, and stops by any of its mails.</summary>
public sealed class FollowLibraryTests
{
    private const string Knot = "Knot@post.example";

    private static Task<FollowOutcome> AskAsync(OutBench bench, string? email, long? personId = null, string slug = "kettle") => bench.WithAsync(db =>
        new FollowLibrary(db, bench.Bench.Shelf.Clock).RunAsync(slug, email, personId, OutBench.Address, default));

    /// <summary>Somebody who has read a mail at their address.</summary>
    private static async Task<long> ProvedAsync(OutBench bench, string email)
    {
        var id = await bench.PersonAsync(email);
        await bench.WithAsync(db => db.Users.Where(p => p.Id == id).ExecuteUpdateAsync(s => s.SetProperty(p => p.EmailConfirmed, true)));
        return id;
    }

    private static Task<List<string>> KeysAsync(OutBench bench) => bench.WithAsync(db => db.Followers.OrderBy(f => f.Id).Select(f => f.Key).ToListAsync());

    [Fact]
    public async Task An_address_is_asked_first_follows_after_its_yes_and_is_forgotten_after_its_no()
    {
        await using var bench = await OutBench.MakeAsync();
        Assert.Equal(FollowOutcome.NotOnTheShelf, await AskAsync(bench, Knot));
        await bench.PublishedAsync("1.0.0");
        Assert.Equal(FollowOutcome.NotAnAddress, await AskAsync(bench, "knot"));
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot));
        var key = Assert.Single(await KeysAsync(bench));
        Assert.Contains($"{OutBench.Address}/follow/{key}", Assert.Single(await bench.MailsAsync("following:")).Text, StringComparison.Ordinal);

        // Pressed twice the mail is on its way; the address was not proved, so nothing is sent.
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot.ToLowerInvariant()));
        Assert.Single(await bench.MailsAsync("following:"));
        await bench.PublishedAsync("1.1.0");
        Assert.Empty(await bench.MailsAsync("follow:"));

        for (var press = 0; press < 2; press++)
            Assert.True(await bench.WithAsync(db => new ConfirmFollowing(db, bench.Bench.Shelf.Clock).RunAsync(key, default)));
        var third = await bench.PublishedAsync("1.2.0");
        Assert.StartsWith($"follow:{third}:", Assert.Single(await bench.MailsAsync("follow:")).Cause, StringComparison.Ordinal);

        // The same answer for who follows already, and a mail that says so.
        bench.Bench.Shelf.Clock.Advance(FollowLibrary.AskedOnceIn);
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot));
        Assert.Contains("follows it already", (await bench.MailsAsync("following:"))[1].Text, StringComparison.Ordinal);

        Assert.Equal(RefuseOutcome.Refused, await bench.WithAsync(db => new RefuseKind(db, bench.Bench.Shelf.Clock).RunAsync(key, "follow", refuses: true, default)));
        Assert.Empty(await KeysAsync(bench));
        Assert.False(await bench.WithAsync(db => new StopFollowing(db).RunAsync(key, default)));
    }

    [Fact]
    public async Task Who_is_signed_in_follows_at_once_and_an_unproved_address_goes_after_a_week()
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0", Audience.Members);
        var wren = await ProvedAsync(bench, "wren@post.example");
        Assert.Equal(FollowOutcome.Follows, await AskAsync(bench, "somebody.else@post.example", wren));
        await AskAsync(bench, Knot);
        bench.Bench.Shelf.Clock.Advance(TimeSpan.FromDays(8));
        Assert.Equal(1, await bench.WithAsync(db => new SweepFollowers(db, bench.Bench.Shelf.Clock).RunAsync(default)));
        Assert.Equal("wren@post.example", await bench.WithAsync(db => db.Followers.Select(f => f.Email).SingleAsync()));
        Assert.Equal("Mended Kettle", Assert.Single((await bench.WithAsync(db => new ReadMyLetters(db).RunAsync(wren, default)))!.Followed).Title);
    }

    [Fact]
    public async Task One_address_is_typed_for_five_libraries_an_hour_at_most()
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0");
        await bench.WithAsync(async db =>
        {
            foreach (var i in Enumerable.Range(1, 5))
            {
                var library = new Library { Slug = $"tin-{i}", Title = "Tin" };
                var release = new Release { Number = "1.0.0" };
                release.MoveTo(ReleaseState.Checked, default);
                release.MoveTo(ReleaseState.Sealed, default);
                release.MoveTo(ReleaseState.Published, default);
                release.TellAskedAt = null;
                library.Releases.Add(release);
                db.Add(library);
            }
            return await db.SaveChangesAsync();
        });
        for (var i = 1; i <= 5; i++)
            Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot, slug: $"tin-{i}"));
        Assert.Equal(FollowOutcome.TooOften, await AskAsync(bench, Knot));
        Assert.Equal(5, (await bench.MailsAsync("following:")).Count);
        bench.Bench.Shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot));
    }

    /// <summary>Paying signs in and proves no mailbox: the address may be anybody's.</summary>
    [Fact]
    public async Task Signed_in_without_a_proved_address_one_is_asked_first_and_sees_nothing_of_what_it_follows()
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0");
        await AskAsync(bench, Knot); // the owner, who has not answered
        bench.Bench.Shelf.Clock.Advance(FollowLibrary.AskedOnceIn);
        var payer = await bench.PersonAsync(Knot);
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, null, payer));
        Assert.Equal(2, (await bench.MailsAsync("following:")).Count);
        Assert.Null(await bench.WithAsync(db => db.Followers.Select(f => f.ConfirmedAt).SingleAsync()));

        await bench.WithAsync(db => db.Followers.ExecuteUpdateAsync(s => s.SetProperty(f => f.ConfirmedAt, DateTimeOffset.UnixEpoch)));
        Assert.Empty((await bench.WithAsync(db => new ReadMyLetters(db).RunAsync(payer, default)))!.Followed);
        var data = (await bench.WithAsync(db => new ReadMyData(db, bench.Bench.Shelf.Clock).RunAsync(payer, default)))!.Tables.ToDictionary(t => t.Name, t => t.Rows.Count);
        Assert.Equal((0, 0), (data["followed"], data["mails"]));
        await ProvedAsync(bench, Knot);
        Assert.Single((await bench.WithAsync(db => new ReadMyLetters(db).RunAsync(payer, default)))!.Followed);
        data = (await bench.WithAsync(db => new ReadMyData(db, bench.Bench.Shelf.Clock).RunAsync(payer, default)))!.Tables.ToDictionary(t => t.Name, t => t.Rows.Count);
        Assert.Equal((1, 2), (data["followed"], data["mails"]));
    }

    [Fact]
    public async Task However_often_an_address_is_typed_it_is_asked_once_a_day_also_after_its_no()
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0");
        for (var asked = 0; asked < 24; asked++)
        {
            Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, asked % 2 == 0 ? Knot : Knot.ToUpperInvariant()));
            foreach (var key in await KeysAsync(bench))
                await bench.WithAsync(db => new StopFollowing(db).RunAsync(key, default));
            Assert.Single(await bench.MailsAsync("following:"));
            bench.Bench.Shelf.Clock.Advance(TimeSpan.FromHours(1));
        }
        await AskAsync(bench, Knot);
        Assert.Equal(2, (await bench.MailsAsync("following:")).Count);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_closed_mailbox_and_who_wants_no_such_mails_are_not_asked_and_nobody_can_tell(bool isClosed)
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0");
        var knot = await bench.PersonAsync(Knot);
        await bench.WithAsync(db =>
        {
            db.Add(isClosed ? new MailSuppression { NormalizedEmail = "KNOT@POST.EXAMPLE", Because = "550 5.1.1" } : new MailRefusal { PersonId = knot, Kind = MailKind.Follow });
            return db.SaveChangesAsync();
        });
        Assert.Equal(FollowOutcome.MailOnItsWay, await AskAsync(bench, Knot));
        Assert.Empty(await bench.MailsAsync("following:"));
        Assert.Empty(await KeysAsync(bench));
    }
}

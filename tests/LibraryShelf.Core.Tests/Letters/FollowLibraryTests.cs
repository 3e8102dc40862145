using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>An address follows a library once it said yes itself, and stops by any of its mails.</summary>
public sealed class FollowLibraryTests
{
    private const string Knot = "Knot@post.example";

    private static Task<FollowOutcome> AskAsync(OutBench bench, string? email, long? personId = null, string slug = "kettle") => bench.WithAsync(db =>
        new FollowLibrary(db, bench.Bench.Shelf.Clock).RunAsync(slug, email, personId, OutBench.Address, default));

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
        bench.Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(10));
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
        var wren = await bench.PersonAsync("wren@post.example");
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
}

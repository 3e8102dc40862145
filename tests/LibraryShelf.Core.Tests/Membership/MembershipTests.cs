using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class MembershipTests
{
    private static Task<GrantOutcome> GrantAsync(StockedShelf shelf, string email, DateOnly? lastDay = null) =>
        shelf.WithAsync(db => new GrantMembership(db, shelf.Temp.Clock).RunAsync(email, "by hand", lastDay, shelfAddress: null, default));

    private static Task<EndOutcome> EndAsync(StockedShelf shelf, long personId) =>
        shelf.WithAsync(db => new EndMembership(db, shelf.Temp.Clock).RunAsync(personId, default));

    private static Task<Mine> MineAsync(StockedShelf shelf, long personId) =>
        shelf.WithAsync(db => new ReadMine(db, shelf.Temp.Clock).RunAsync(personId, default));

    private static Task<long> IdAsync(StockedShelf shelf, string email)
    {
        var upper = email.ToUpperInvariant();
        return shelf.WithAsync(db => db.Users.Where(u => u.NormalizedEmail == upper).Select(u => u.Id).SingleAsync());
    }

    [Fact]
    public async Task A_granted_member_may_download_until_the_membership_is_ended()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        Assert.Equal(GrantOutcome.Granted, await GrantAsync(shelf, " Wren@Example.org "));
        var wren = await IdAsync(shelf, "wren@example.org");
        Assert.Equal(MayDownloadWhy.Member, await shelf.RightsAsync(wren));
        Assert.Equal(MayDownloadWhy.SignInFirst, await shelf.RightsAsync(null));
        Assert.Equal(MayDownloadWhy.SignInFirst, await shelf.RightsAsync(wren + 99)); // nobody the shelf knows
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(EndOutcome.Ended, await EndAsync(shelf, wren));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(wren));
        Assert.Equal(EndOutcome.NoMembership, await EndAsync(shelf, wren));
    }

    /// <summary>A list may bring one that begins later.</summary>
    [Fact]
    public async Task What_was_to_begin_later_does_not_once_it_is_ended()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        await GrantAsync(shelf, "wren@example.org");
        var wren = await IdAsync(shelf, "wren@example.org");
        await shelf.WithAsync(db =>
        {
            db.MembershipGrants.Add(new MembershipGrant { PersonId = wren, From = shelf.Temp.Clock.GetUtcNow().AddDays(30) });
            return db.SaveChangesAsync();
        });
        Assert.Equal(EndOutcome.Ended, await EndAsync(shelf, wren));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(31));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(wren));
    }

    [Fact]
    public async Task A_membership_with_a_last_day_ends_with_that_day()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var until = new DateTimeOffset(2026, 12, 25, 0, 0, 0, TimeSpan.Zero); // no shop yet: days are UTC's
        await GrantAsync(shelf, "wren@example.org", new DateOnly(2026, 12, 24));
        var wren = await IdAsync(shelf, "wren@example.org");
        Assert.Equal(until, (await MineAsync(shelf, wren)).MemberUntil);
        shelf.Temp.Clock.SetUtcNow(until.AddMilliseconds(-1));
        Assert.Equal(MayDownloadWhy.Member, await shelf.RightsAsync(wren));
        shelf.Temp.Clock.SetUtcNow(until);
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(wren));
    }

    [Fact]
    public async Task Pressing_twice_makes_one_person_and_one_grant()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => Task.Run(() => GrantAsync(shelf, "wren@example.org"))));
        Assert.Single(outcomes, GrantOutcome.Granted);
        Assert.Equal((1, 1), (await shelf.WithAsync(db => db.Users.CountAsync()), await shelf.WithAsync(db => db.MembershipGrants.CountAsync())));
    }

    [Theory]
    [InlineData("")]
    [InlineData("wren")]
    [InlineData("Wren <wren@example.org>")]
    [InlineData("wren@example.org, robin@example.org")]
    public async Task What_is_no_address_makes_no_member(string typed)
    {
        await using var shelf = await StockedShelf.MakeAsync();
        Assert.Equal(GrantOutcome.BadAddress, await GrantAsync(shelf, typed));
        Assert.Equal(GrantOutcome.EndsBeforeItStarts, await GrantAsync(shelf, "wren@example.org", new DateOnly(2026, 11, 24)));
        Assert.Equal(0, await shelf.WithAsync(db => db.Users.CountAsync()));
    }

    [Fact]
    public async Task What_was_taken_while_free_stays_theirs_alone()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (took, pressed) = (await shelf.PersonAsync("wren@example.org"), await shelf.PersonAsync("robin@example.org"));
        Assert.Null(await shelf.StartAsync((await shelf.MadeAsync(took)).DownloadId));
        await shelf.MadeAsync(pressed);
        shelf.Temp.Clock.Advance(TimeSpan.FromHours(1));
        await shelf.DecideAsync(Audience.Members);
        Assert.Equal(MayDownloadWhy.TookItWhileFree, await shelf.RightsAsync(took));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(pressed));
        Assert.Equal(MayDownloadWhy.TookItWhileFree, Assert.Single(Assert.Single((await MineAsync(shelf, took)).Libraries).Releases).Why);
        Assert.Empty((await MineAsync(shelf, pressed)).Libraries);
    }

    [Fact]
    public async Task Mine_says_which_versions_and_why_newest_number_first()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        await GrantAsync(shelf, "wren@example.org");
        var wren = await IdAsync(shelf, "wren@example.org");
        foreach (var number in new[] { "1.10.0", "1.9.0", "2.0.0" })
        {
            await shelf.WithAsync(async db =>
            {
                var release = new Release { LibraryId = shelf.LibraryId, Number = number };
                foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed }) release.MoveTo(state, shelf.Now);
                if (number != "2.0.0") release.MoveTo(ReleaseState.Published, shelf.Now);
                db.Releases.Add(release);
                await db.SaveChangesAsync();
                db.Archives.Add(new() { ReleaseId = release.Id, RecipeSha256 = shelf.RecipeSha256, Length = 5, FileName = "x.zip" });
                return await db.SaveChangesAsync();
            });
        }
        var mine = await MineAsync(shelf, wren);
        Assert.True(mine.IsActiveMember);
        var box = Assert.Single(mine.Libraries);
        Assert.Equal(["1.10.0", "1.9.0", "1.0.0"], box.Releases.Select(r => r.Number)); // 2.0.0 is not published yet
        Assert.All(box.Releases, r => Assert.Equal(MayDownloadWhy.Member, r.Why));
        Assert.Null(box.Releases[0].TakenAt);
    }
}

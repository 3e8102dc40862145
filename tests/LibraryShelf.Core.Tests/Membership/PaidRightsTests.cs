using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Membership;

/// <summary>What a paid month opens, with its rows in the database.</summary>
public sealed class PaidRightsTests
{
    private static readonly YearMonth November = new(2026, 11);

    [Fact]
    public async Task A_paid_month_is_theirs_after_leaving_with_every_later_version_and_nothing_else()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var (wren, robin) = (await MemberAsync(shelf, "wren@post.example", November), await MemberAsync(shelf, "robin@post.example", November.PlusMonths(1)));
        Assert.Equal(MayDownloadWhy.PaidMonth, await shelf.RightsAsync(wren));
        Assert.Equal(MayDownloadWhy.Member, await shelf.RightsAsync(robin));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(400)); // both have left
        Assert.Equal(MayDownloadWhy.PaidMonth, await shelf.RightsAsync(wren));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(robin));

        var later = await LaterVersionAsync(shelf);
        Assert.Equal(MayDownloadWhy.PaidMonth, await RightsAsync(shelf, later, wren));
        Assert.Equal(MayDownloadWhy.MembersOnly, await RightsAsync(shelf, later, robin));
    }

    [Fact]
    public async Task Turned_free_or_for_members_a_paid_month_stays()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var (wren, robin) = (await MemberAsync(shelf, "wren@post.example", November), await MemberAsync(shelf, "robin@post.example"));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(60));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(robin));
        await shelf.DecideAsync(Audience.Free);
        Assert.Equal((MayDownloadWhy.Free, MayDownloadWhy.Free), (await shelf.RightsAsync(robin), await shelf.RightsAsync(null)));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.DecideAsync(Audience.Members);
        Assert.Equal((MayDownloadWhy.PaidMonth, MayDownloadWhy.MembersOnly), (await shelf.RightsAsync(wren), await shelf.RightsAsync(robin)));
    }

    [Fact]
    public async Task A_month_opens_with_its_day_and_not_before()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var wren = await MemberAsync(shelf, "wren@post.example", November, opensAt: shelf.Now.AddDays(40));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(40) - TimeSpan.FromTicks(TimeSpan.TicksPerMillisecond));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(wren));
        shelf.Temp.Clock.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(MayDownloadWhy.PaidMonth, await shelf.RightsAsync(wren));
    }

    [Fact]
    public async Task A_kinder_setting_opens_what_was_out_by_the_day_of_leaving_and_a_harsher_one_takes_nothing()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var (wren, robin) = (await MemberAsync(shelf, "wren@post.example", under: AfterLeaving.AllTillThen), await MemberAsync(shelf, "robin@post.example"));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(60));
        // The shop's setting is the stricter one now; Wren joined under the kinder.
        Assert.Equal((MayDownloadWhy.KeptAfterLeaving, MayDownloadWhy.MembersOnly), (await shelf.RightsAsync(wren), await shelf.RightsAsync(robin)));
        Assert.Equal(MayDownloadWhy.MembersOnly, await RightsAsync(shelf, await LaterVersionAsync(shelf), wren));
        await shelf.WithAsync(async db =>
        {
            db.Shops.Add(new Shop { AfterLeaving = AfterLeaving.AllTillThen });
            return await db.SaveChangesAsync();
        });
        Assert.Equal(MayDownloadWhy.KeptAfterLeaving, await shelf.RightsAsync(robin));
    }

    [Fact]
    public async Task Who_had_it_all_paid_back_keeps_nothing_under_the_kinder_setting()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        var wren = await MemberAsync(shelf, "wren@post.example", under: AfterLeaving.AllTillThen);
        await shelf.WithAsync(db => db.PaidMemberships.ExecuteUpdateAsync(
            s => s.SetProperty(m => m.PaidThrough, (DateTimeOffset?)null).SetProperty(m => m.ActiveUntil, shelf.Now)));
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(MayDownloadWhy.MembersOnly, await shelf.RightsAsync(wren));
    }

    /// <summary>Active for thirty days from now.</summary>
    private static async Task<long> MemberAsync(
        StockedShelf shelf, string email, YearMonth? month = null, DateTimeOffset? opensAt = null, AfterLeaving under = AfterLeaving.PaidMonths)
    {
        var person = await shelf.PersonAsync(email);
        await shelf.WithAsync(async db =>
        {
            await db.Libraries.ExecuteUpdateAsync(s => s.SetProperty(l => l.Month, November));
            db.PaidMemberships.Add(new PaidMembership
            {
                PersonId = person, ProviderId = $"sub_{person}", StartedAt = shelf.Now, PaidThrough = shelf.Now.AddDays(30), ActiveUntil = shelf.Now.AddDays(30), JoinedUnder = under,
            });
            if (month is { } paid)
                db.PaidMonths.Add(new PaidMonth { PersonId = person, Month = paid, PaymentId = "in_1", OpensAt = opensAt ?? shelf.Now });
            return await db.SaveChangesAsync();
        });
        return person;
    }

    private static Task<long> LaterVersionAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        var release = new Release { LibraryId = shelf.LibraryId, Number = "1.1.0" };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
            Assert.True(release.MoveTo(state, shelf.Now));
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        return release.Id;
    });

    private static Task<MayDownloadWhy> RightsAsync(StockedShelf shelf, long release, long person) =>
        shelf.WithAsync(db => new ReadRights(db, shelf.Temp.Clock).RunAsync(release, person, default));
}

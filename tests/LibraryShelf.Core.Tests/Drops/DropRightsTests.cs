using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>What a month's drop opens for whoever has the month, and for how long.</summary>
public sealed class DropRightsTests
{
    private static readonly YearMonth November = December.PlusMonths(-1);

    [Fact]
    public async Task A_new_version_of_an_older_library_is_theirs_who_have_its_months_or_the_drops_with_every_later_version()
    {
        await using var bench = await MakeAsync();
        var library = await bench.LibraryAsync("Mended Kettle");
        var first = await bench.ReleaseAsync(library, "1.0.0");
        await bench.SentAsync(await bench.DropAsync(November, default, first));
        var (wren, robin, siskin) = (await HolderAsync(bench, "wren", November), await HolderAsync(bench, "robin", December), await HolderAsync(bench, "siskin", December.PlusMonths(1)));
        var second = await bench.ReleaseAsync(library, "1.1.0");
        await bench.SentAsync(await bench.DropAsync(December, default, second));
        Assert.Equal("2026-12", (await bench.ReadReleaseAsync(second)).DropMonths);
        await HoldsAsync(second, yes: [wren, robin], no: [siskin]);
        await HoldsAsync(first, yes: [wren], no: [robin, siskin]);

        var byHand = await bench.ReleaseAsync(library, "1.2.0", ReleaseState.Sealed);
        await PublishAsync(bench, byHand);
        await HoldsAsync(byHand, yes: [wren, robin], no: [siskin]);

        // The drop of January brings what was published by hand before: that is fine, and what is above it comes along.
        var above = await bench.ReleaseAsync(library, "2.0.0", ReleaseState.Sealed);
        await PublishAsync(bench, above);
        Assert.Empty(await BoxesAsync(siskin));
        Assert.Empty((await bench.SentAsync(await bench.DropAsync(December.PlusMonths(1), default, byHand))).Published);
        Assert.Equal(["Mended Kettle"], await BoxesAsync(siskin));
        Assert.Equal(["Mended Kettle"], await BoxesAsync(wren));
        Assert.Equal("2026-12 2027-01", (await bench.ReadReleaseAsync(byHand)).DropMonths);
        await HoldsAsync(byHand, yes: [wren, robin, siskin], no: []);
        await HoldsAsync(above, yes: [wren, robin, siskin], no: []);
        await HoldsAsync(second, yes: [wren, robin], no: [siskin]);

        async Task HoldsAsync(long release, long[] yes, long[] no)
        {
            foreach (var person in yes)
                Assert.Equal(MayDownloadWhy.PaidMonth, await bench.RightsAsync(release, person));
            foreach (var person in no)
                Assert.Equal(MayDownloadWhy.MembersOnly, await bench.RightsAsync(release, person));
        }

        async Task<IReadOnlyList<string>> BoxesAsync(long person) =>
            Assert.Single((await bench.WithAsync(db => new ReadMyMembership(db, bench.Shelf.Clock).RunAsync(person, default))).Months).Boxes;
    }

    [Fact]
    public async Task A_library_that_is_free_stays_so_and_the_month_holds_when_it_is_for_members_again()
    {
        await using var bench = await MakeAsync();
        var library = await bench.LibraryAsync("Mended Kettle");
        await PublishAsync(bench, await bench.ReleaseAsync(library, "1.0.0", ReleaseState.Sealed), Audience.Free);
        var next = await bench.ReleaseAsync(library, "1.1.0");
        await bench.SentAsync(await bench.DropAsync(December, default, next));
        Assert.Equal(MayDownloadWhy.Free, await bench.RightsAsync(next, null));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(1));
        await bench.WithAsync(db => new DecideAudience(db, bench.Shelf.Clock).RunAsync("mended-kettle", Audience.Members, default));
        Assert.Equal(MayDownloadWhy.PaidMonth, await bench.RightsAsync(next, await HolderAsync(bench, "wren", December)));
        Assert.Null((await bench.ReadReleaseAsync(next)).Library.Month);
    }

    [Fact]
    public async Task Who_joins_later_in_the_month_has_it_at_once()
    {
        await using var bench = await MakeAsync();
        var kettle = await bench.NewAsync("Mended Kettle");
        await bench.SentAsync(await bench.DropAsync(December, default, kettle));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(20));
        Assert.Equal(MayDownloadWhy.Member, await bench.RightsAsync(kettle, await bench.MemberAsync("wren@post.example")));
        Assert.Empty(await bench.MailsAsync());
    }

    [Fact]
    public async Task Who_has_the_drops_month_alone_is_told_that_it_mends_what_was_withdrawn()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var (wren, robin) = (await bench.PersonAsync("wren@post.example"), await bench.PersonAsync("robin@post.example"));
        await bench.FetchAsync(first, wren);
        await bench.FetchAsync(first, robin);
        await bench.WithAsync(db => new DecideAudience(db, bench.Bench.Shelf.Clock).RunAsync("kettle", Audience.Members, default));
        await bench.WithdrawAsync(first);
        var next = await bench.SealedAsync("1.1.0");
        await bench.WithAsync(db =>
        {
            db.PaidMonths.Add(new PaidMonth { PersonId = wren, Month = December, PaymentId = "in_1", OpensAt = bench.Bench.Shelf.Clock.GetUtcNow() });
            db.Drops.Add(new() { Id = 7, Month = December, DueAt = bench.Bench.Shelf.Clock.GetUtcNow() });
            db.DropReleases.Add(new() { DropId = 7, ReleaseId = next });
            return db.SaveChangesAsync();
        });
        Assert.IsType<Core.Drops.SendDropOutcome.Sent>(await bench.WithAsync(
            db => new Core.Drops.SendDrop(db, bench.Bench.Shelf.Clock, Options.Create(new Core.Shared.ShelfSettings())).RunAsync(7, null, default)));
        await bench.TellAsync(next);
        Assert.Equal("wren@post.example", Assert.Single(await bench.MailsAsync("mended-after")).To);
    }

    private static Task<long> HolderAsync(DropBench bench, string name, YearMonth month) => bench.WithAsync(async db =>
    {
        var person = await Accounts.TestPeople.FindOrAddAsync(db, $"{name}@post.example", bench.Now);
        db.PaidMonths.Add(new PaidMonth { PersonId = person.Id, Month = month, PaymentId = "in_1", OpensAt = bench.Now });
        await db.SaveChangesAsync();
        return person.Id;
    });

    private static async Task PublishAsync(DropBench bench, long release, Audience audience = Audience.Members) =>
        Assert.Equal(PublishReleaseOutcome.Published, await bench.WithAsync(
            db => new PublishRelease(db, bench.Shelf.Clock).RunAsync(release, audience, declares: false, null, default)));
}

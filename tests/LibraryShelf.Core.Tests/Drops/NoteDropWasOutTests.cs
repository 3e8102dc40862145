using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Drops.DropBench;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>After a restore: the drop had gone out from the shelf that was lost.</summary>
public sealed class NoteDropWasOutTests
{
    [Fact]
    public async Task Its_versions_and_rights_are_there_as_of_its_hour_and_nobody_is_written_to()
    {
        await using var bench = await MakeAsync();
        var kettle = await bench.NewAsync("Mended Kettle");
        var (wren, left) = (await bench.MemberAsync("wren@post.example"), await bench.MemberAsync("left@post.example"));
        var drop = await bench.DropAsync(December, TimeSpan.FromDays(1), kettle);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(4));
        await bench.WithAsync(async db =>
        {
            // Whoever left since, under the kinder rule, keeps what was out when they left.
            await db.MembershipGrants.Where(g => g.PersonId == left).ExecuteDeleteAsync();
            db.PaidMemberships.Add(new PaidMembership
            {
                PersonId = left, ProviderId = "sub_1", StartedAt = bench.Now.AddDays(-60), PaidThrough = bench.Now.AddDays(-1), ActiveUntil = bench.Now.AddDays(-1), JoinedUnder = AfterLeaving.AllTillThen,
            });
            await db.SaveChangesAsync();
            return await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, bench.Now));
        });
        Assert.Equal(MayDownloadWhy.NotOnTheShelf, await bench.RightsAsync(kettle, wren));

        Assert.IsType<DropOutcome.ChangedMeanwhile>(await NoteAsync(bench, revision: 7));
        Assert.Equal(new DropOutcome.Done(null), await NoteAsync(bench));
        var row = await bench.ReadAsync(drop);
        Assert.Equal((DropState.Sent, row.DueAt), (row.State, row.SentAt));
        var release = await bench.ReadReleaseAsync(kettle);
        Assert.Equal((ReleaseState.Published, row.DueAt, null, December), (release.State, release.PublishedAt, release.TellAskedAt, release.Library.Month));
        Assert.Equal((MayDownloadWhy.Member, MayDownloadWhy.KeptAfterLeaving), (await bench.RightsAsync(kettle, wren), await bench.RightsAsync(kettle, left)));
        Assert.Empty(await bench.MailsAsync());

        // Said twice, and once the shelf is no longer quiet, it is out and stays so.
        Assert.Equal(new DropOutcome.Done(null), await NoteAsync(bench));
        await bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, (DateTimeOffset?)null)));
        Assert.IsType<SendDropOutcome.NotNow>(await bench.SendAsync(drop));
        Assert.Empty(await bench.MailsAsync());
    }

    [Fact]
    public async Task Before_its_hour_or_with_a_version_sent_again_since_it_is_out_from_now_on()
    {
        await using var bench = await MakeAsync();
        var early = await bench.DropAsync(December, TimeSpan.FromDays(3), await bench.NewAsync("Mended Kettle"));
        // Only of a shelf that was restored.
        Assert.Contains("only while a shelf that was restored from a backup is held", Assert.Single(Assert.IsType<DropOutcome.Refused>(await NoteAsync(bench)).Refusals).Words, StringComparison.Ordinal);
        Assert.Equal(DropState.Planned, (await bench.ReadAsync(early)).State);
        await HoldAsync(bench);
        Assert.Equal(new DropOutcome.Done(null), await NoteAsync(bench));
        Assert.Equal(bench.Now, (await bench.ReadAsync(early)).SentAt);

        var due = await bench.DropAsync(December.PlusMonths(1), default);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(2));
        var marimba = await bench.NewAsync("Jam-jar Marimba");
        await bench.WithAsync(db =>
        {
            db.DropReleases.Add(new DropRelease { DropId = due, ReleaseId = marimba });
            return db.SaveChangesAsync();
        });
        Assert.Equal(new DropOutcome.Done(null), await NoteAsync(bench, December.PlusMonths(1)));
        Assert.Equal(bench.Now, (await bench.ReadReleaseAsync(marimba)).PublishedAt);
    }

    /// <summary>However long ago the drop's hour was: whoever came to a box of it since came when its version was out.</summary>
    [Fact]
    public async Task Whoever_first_had_its_box_after_its_hour_had_it_when_the_version_was_out()
    {
        await using var bench = await MakeAsync();
        var box = await bench.LibraryAsync("Mended Kettle");
        var (first, second) = (await bench.ReleaseAsync(box, "1.0.0", ReleaseState.Published), await bench.ReleaseAsync(box, "2.0.0"));
        var other = await bench.ReleaseAsync(await bench.LibraryAsync("Jam-jar Marimba"), "1.0.0", ReleaseState.Published);
        var (early, late) = (await bench.MemberAsync("early@post.example"), await bench.MemberAsync("late@post.example"));
        await bench.DropAsync(December, TimeSpan.FromDays(1), second);
        await FetchAsync(bench, early, first);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(2));
        await FetchAsync(bench, late, first);
        await FetchAsync(bench, late, other);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(30));
        await HoldAsync(bench);
        Assert.Equal((first, first), (await LatestThenAsync(bench, early, box), await LatestThenAsync(bench, late, box)));

        Assert.Equal(new DropOutcome.Done(null), await NoteAsync(bench));
        Assert.Equal([(box, late)], await bench.WithAsync(async db => (await db.VersionMarks.ToListAsync()).ConvertAll(m => (m.LibraryId, m.PersonId))));
        Assert.Equal((first, second), (await LatestThenAsync(bench, early, box), await LatestThenAsync(bench, late, box)));
    }

    /// <summary>Finished now, and worked out.</summary>
    private static Task<bool> FetchAsync(DropBench bench, long person, long release) => bench.WithAsync(async db =>
    {
        var library = (await db.Releases.SingleAsync(r => r.Id == release)).LibraryId;
        db.Downloads.Add(new Download { Id = $"{person} {release}", LibraryId = library, ReleaseId = release, PersonId = person, Why = MayDownloadWhy.Free, MadeAt = bench.Now, StartedAt = bench.Now });
        db.DownloadTallies.Add(new DownloadTally { DownloadId = $"{person} {release}", StartedAt = bench.Now, FinishedAt = bench.Now });
        db.VersionMarks.Add(new VersionMark { LibraryId = library, PersonId = person });
        await db.SaveChangesAsync();
        return await new RollUpVersions(db, bench.Shelf.Clock).RunAsync(default);
    });

    private static Task<long> LatestThenAsync(DropBench bench, long person, long box) => bench.WithAsync(async db =>
    {
        await new RollUpVersions(db, bench.Shelf.Clock).RunAsync(default);
        return await db.PersonVersions.Where(v => v.PersonId == person && v.LibraryId == box).Select(v => v.LatestThenId).SingleAsync();
    });

    [Fact]
    public async Task What_is_not_whole_here_is_not_brought_out_by_halves()
    {
        await using var bench = await MakeAsync();
        var (kettle, marimba) = (await bench.NewAsync("Mended Kettle"), await bench.NewAsync("Jam-jar Marimba", ReleaseState.Checked));
        var drop = await bench.DropAsync(December, default, kettle, marimba);
        await HoldAsync(bench);
        Assert.Contains("Jam-jar Marimba 1.0.0 is not sealed.", Assert.Single(Assert.IsType<DropOutcome.Refused>(await NoteAsync(bench)).Refusals).Words, StringComparison.Ordinal);
        Assert.Equal((DropState.Planned, ReleaseState.Scheduled), ((await bench.ReadAsync(drop)).State, (await bench.ReadReleaseAsync(kettle)).State));
        Assert.IsType<DropOutcome.Missing>(await NoteAsync(bench, December.PlusMonths(3)));
    }

    private static Task<int> HoldAsync(DropBench bench) => bench.WithAsync(db => db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.HeldSince, bench.Now)));

    private static Task<DropOutcome> NoteAsync(DropBench bench, NodaTime.YearMonth? month = null, int revision = 0) =>
        bench.WithAsync(db => new NoteDropWasOut(db, bench.Shelf.Clock).RunAsync(month ?? December, revision, default));
}

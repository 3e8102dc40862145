using LibraryShelf.Core.Alerts;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Alerts;

public sealed class RaiseAlertTests
{
    [Fact]
    public async Task The_same_thing_again_is_counted_on_its_row_and_after_its_end_it_is_a_new_case()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var start = shelf.Clock.GetUtcNow();
        Assert.Equal(RaiseAlertOutcome.NewCase, await RaiseAsync(shelf, "a", "first"));
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(RaiseAlertOutcome.SeenAgain, await RaiseAsync(shelf, "a", "second"));
        var row = await OnlyAsync(shelf);
        Assert.Equal((2, "second", start, start.AddMinutes(1), null), (row.Times, row.Words, row.RaisedAt, row.LastSeenAt, row.SettledAt));

        Assert.True(await SettleAsync(shelf, "a"));
        Assert.False(await SettleAsync(shelf, "a"));
        Assert.Equal(RaiseAlertOutcome.NewCase, await RaiseAsync(shelf, "a", "third"));
        row = await OnlyAsync(shelf);
        Assert.Equal((1, "third", start.AddMinutes(1), null), (row.Times, row.Words, row.RaisedAt, row.SettledAt));
    }

    [Fact]
    public async Task Many_at_once_give_one_row_and_none_is_lost()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var outcomes = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(() => RaiseAsync(shelf, "a", "w"))));
        Assert.Single(outcomes, o => o == RaiseAlertOutcome.NewCase);
        Assert.Equal(8, (await OnlyAsync(shelf)).Times);
    }

    [Fact]
    public async Task Putting_away_takes_the_case_that_was_shown_and_no_later_one_nor_a_full_disk()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await RaiseAsync(shelf, "a", "w");
        var shown = await OnlyAsync(shelf);
        await SettleAsync(shelf, "a");
        shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        await RaiseAsync(shelf, "a", "w");
        Assert.Equal(PutAwayOutcome.NotThisCase, await PutAwayAsync(shelf, shown));
        Assert.Equal(PutAwayOutcome.PutAway, await PutAwayAsync(shelf, await OnlyAsync(shelf)));
        Assert.NotNull((await OnlyAsync(shelf)).SettledAt);

        await RaiseAsync(shelf, "", "full", AlertKind.DiskNearlyFull);
        await using var db = shelf.Open();
        var disk = Assert.Single((await new ReadAlerts(db).RunAsync(CancellationToken.None)).Newest);
        Assert.Equal(PutAwayOutcome.NotThisCase, await PutAwayAsync(shelf, disk));
    }

    [Fact]
    public async Task What_stands_is_read_newest_first_with_how_many_there_are_in_all()
    {
        await using var shelf = await TempShelf.MakeAsync();
        for (var i = 0; i < ReadAlerts.Most + 2; i++)
        {
            await RaiseAsync(shelf, $"{i}", "w");
            shelf.Clock.Advance(TimeSpan.FromSeconds(1));
        }
        await SettleAsync(shelf, "5");
        await using var db = shelf.Open();
        var standing = await new ReadAlerts(db).RunAsync(CancellationToken.None);
        Assert.Equal((ReadAlerts.Most + 1, ReadAlerts.Most), (standing.Count, standing.Newest.Count));
        Assert.Equal(["21", "20", "19"], standing.Newest.Take(3).Select(a => a.Subject));
    }

    private static async Task<RaiseAlertOutcome> RaiseAsync(TempShelf shelf, string subject, string words, AlertKind kind = AlertKind.JobFailed)
    {
        await using var db = shelf.Open();
        return await new RaiseAlert(db, shelf.Clock).RunAsync(kind, subject, words, CancellationToken.None);
    }

    private static async Task<bool> SettleAsync(TempShelf shelf, string subject)
    {
        await using var db = shelf.Open();
        return await new SettleAlert(db, shelf.Clock).RunAsync(AlertKind.JobFailed, subject, CancellationToken.None);
    }

    private static async Task<PutAwayOutcome> PutAwayAsync(TempShelf shelf, Alert shown)
    {
        await using var db = shelf.Open();
        return await new PutAwayAlert(db, shelf.Clock).RunAsync(shown.Id, shown.RaisedAt, CancellationToken.None);
    }

    private static async Task<Alert> OnlyAsync(TempShelf shelf)
    {
        await using var db = shelf.Open();
        return await db.Alerts.AsNoTracking().SingleAsync();
    }
}

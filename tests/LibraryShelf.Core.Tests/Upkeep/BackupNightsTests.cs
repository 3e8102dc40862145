using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>Nights that were missed, and copies that go bad where they lie.</summary>
public sealed class BackupNightsTests
{
    [Fact]
    public async Task A_missed_night_is_made_up_and_tried_once_an_hour()
    {
        using var shelf = new UpkeepShelf();
        Assert.True(await shelf.IsBackupDueAsync()); // there is none yet
        await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(25));
        Assert.False(await shelf.IsBackupDueAsync());
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.True(await shelf.IsBackupDueAsync());
        await shelf.AddAsync(new JobRun { Name = "BackupJob", StartedAt = shelf.Now, EndedAt = shelf.Now, Trouble = "No room." });
        Assert.False(await shelf.IsBackupDueAsync());
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.True(await shelf.IsBackupDueAsync());
        await shelf.BackedUpAsync();
        Assert.False(await shelf.IsBackupDueAsync());
        // A clock set back: what it made a year ahead is not the newest.
        shelf.Clock.AdjustTime(shelf.Now.AddDays(-365));
        Assert.True(await shelf.IsBackupDueAsync());
        shelf.Settings.Backup.Directory = "";
        Assert.False(await shelf.IsBackupDueAsync());
    }

    [Fact]
    public async Task Two_days_without_one_reach_the_maker_until_one_is_made()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop { Name = "Saltmarsh" });
        await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(48));
        Assert.False(await shelf.WatchBackupsAsync());
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.True(await shelf.WatchBackupsAsync());
        Assert.True(await shelf.WatchBackupsAsync());
        await using var db = shelf.Open();
        var alert = await db.Alerts.AsNoTracking().SingleAsync();
        Assert.Equal((AlertKind.BackupOld, 1, null), (alert.Kind, alert.Times, alert.SettledAt));
        Assert.Contains("25 November 2026, 03:00 UTC", alert.Words, StringComparison.Ordinal);
        Assert.Equal(PutAwayOutcome.NotThisCase, await new PutAwayAlert(db, shelf.Clock).RunAsync(alert.Id, alert.RaisedAt, default));
        await shelf.BackedUpAsync();
        Assert.False(await shelf.WatchBackupsAsync());
        Assert.NotNull((await db.Alerts.AsNoTracking().SingleAsync()).SettledAt);
    }

    [Fact]
    public async Task A_copy_that_went_bad_is_made_anew_within_thirty_days()
    {
        using var shelf = new UpkeepShelf();
        var hash = await shelf.StoreAsync("a recording");
        await shelf.BackedUpAsync();
        UpkeepShelf.Flip(shelf.InPool(hash));
        var mended = 0;
        for (var night = 0; night < PoolPart.Days; night++)
        {
            shelf.Clock.Advance(TimeSpan.FromDays(1));
            mended += Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync()).Mended;
        }
        Assert.Equal(1, mended);
        Assert.Equal("a recording", await File.ReadAllTextAsync(shelf.InPool(hash)));
    }

    [Fact]
    public async Task One_that_the_shelf_has_lost_too_is_told_each_night_until_it_is_whole_and_is_never_taken_away()
    {
        using var shelf = new UpkeepShelf();
        shelf.Settings.Backup.KeepDays = 365;
        var (gone, both) = (await shelf.StoreAsync("only an earlier backup names it"), await shelf.StoreAsync("gone bad twice"));
        await shelf.BackedUpAsync();
        byte[][] whole = [await File.ReadAllBytesAsync(shelf.InPool(gone)), await File.ReadAllBytesAsync(shelf.InPool(both))];
        await using (var db = shelf.Open())
            await db.Blobs.Where(b => b.Sha256 == gone).ExecuteDeleteAsync();
        shelf.Blobs.Remove(gone, DateTimeOffset.MaxValue);
        foreach (var file in new[] { shelf.InPool(gone), shelf.InPool(both), shelf.Blobs.LocalPath(both)! })
            UpkeepShelf.Flip(file);
        // A month without backups: all of it is read.
        shelf.Clock.Advance(TimeSpan.FromDays(30));
        for (var night = 0; night < 2; night++, shelf.Clock.Advance(TimeSpan.FromDays(1)))
        {
            var made = Assert.IsType<BackupOutcome.MadeWithout>(await shelf.BackUpAsync());
            Assert.Equal([both], made.Missing);
            Assert.Contains("1 file that earlier backups name is not what it was", made.Words, StringComparison.Ordinal);
            Assert.Contains(both, made.Words, StringComparison.Ordinal);
            Assert.Equal(new[] { both, gone }.Order(StringComparer.Ordinal), await File.ReadAllLinesAsync(Path.Combine(shelf.Backups, "damaged.txt")));
        }
        // Put back from a copy elsewhere.
        foreach (var (file, bytes) in new[] { shelf.InPool(gone), shelf.InPool(both) }.Zip(whole))
        {
            File.SetAttributes(file, FileAttributes.Normal);
            await File.WriteAllBytesAsync(file, bytes);
        }
        Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync());
        Assert.False(File.Exists(Path.Combine(shelf.Backups, "damaged.txt")));
    }

    [Fact]
    public void Each_day_has_its_part_and_a_missed_day_s_is_read_with_the_next()
    {
        var now = new DateTimeOffset(2026, 11, 25, 3, 0, 0, TimeSpan.Zero);
        var seen = Enumerable.Range(0, PoolPart.Days).Select(day => Assert.Single(PoolPart.Since(now.AddDays(day - 1), now.AddDays(day)))).ToHashSet();
        Assert.Equal(PoolPart.Days, seen.Count);
        Assert.Equal(Enumerable.Range(0, 3).SelectMany(day => PoolPart.Since(now.AddDays(day - 1), now.AddDays(day))).Order(), PoolPart.Since(now.AddDays(-1), now.AddDays(2)).Order());
        Assert.Empty(PoolPart.Since(now, now.AddHours(20)));
        Assert.Equal(PoolPart.Days, PoolPart.Since(now.AddDays(-200), now).Count);
        Assert.Equal(PoolPart.Days, PoolPart.Since(null, now).Count);
    }
}

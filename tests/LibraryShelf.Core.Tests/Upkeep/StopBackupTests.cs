using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Tests.Checking;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>A backup says how far it is, and its maker stops it: earlier ones stay, the half-made one goes, and the next copies only the rest.</summary>
public sealed class StopBackupTests
{
    [Fact]
    public async Task Its_bytes_are_told_while_it_runs_and_nothing_of_it_is_left_when_it_ends()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop());
        foreach (var content in new[] { "one", "three", "fourteen" })
            await shelf.StoreAsync(content);
        var seen = new List<(long Done, long Total)>();
        var watched = new WatchedStore(shelf.Blobs)
        {
            Opening = _ =>
            {
                using var db = shelf.Open();
                seen.AddRange(db.WorkProgress.ToList().Select(p => (p.DoneBytes, p.TotalBytes)));
                shelf.Clock.Advance(TimeSpan.FromSeconds(1));
            },
        };
        Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync(store: watched));
        // Before the second, the bytes of the first, in whichever order; before the third, those of both.
        Assert.Equal(2, seen.Count);
        Assert.Contains(seen[0].Done, new long[] { 3, 5, 8 });
        Assert.Contains(seen[1].Done, new long[] { 8, 11, 13 });
        // What comes to the blobs' sixteen bytes is the database, which is copied and then read once more; of a server's it is not known beforehand.
        Assert.All(seen, s => Assert.Equal(shelf.Copies.IsDatabase, s.Total > 16));
        Assert.All(seen, s => Assert.InRange(s.Total, 16, long.MaxValue));
        await using var after = shelf.Open();
        Assert.Empty(await after.WorkProgress.ToListAsync());
    }

    [Fact]
    public async Task Stopped_it_leaves_the_earlier_ones_and_what_was_copied_and_is_begun_again_on_its_night()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop());
        Assert.False(await shelf.StopBackupAsync());
        await shelf.StoreAsync("one");
        var first = await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(26));
        foreach (var content in new[] { "two", "three", "fourteen" })
            await shelf.StoreAsync(content);
        Assert.True(await shelf.IsBackupDueAsync());

        var opened = 0;
        var watched = new WatchedStore(shelf.Blobs)
        {
            Opening = _ =>
            {
                shelf.Clock.Advance(TimeSpan.FromSeconds(1));
                if (++opened == 3)
                    Assert.True(shelf.StopBackupAsync().GetAwaiter().GetResult());
            },
        };
        Assert.IsType<BackupOutcome.Stopped>(await shelf.BackUpAsync(store: watched));
        Assert.Equal(3, opened);
        Assert.Equal(["blobs", first], Folders(shelf));
        await using (var db = shelf.Open())
            Assert.Empty(await db.WorkProgress.ToListAsync());

        // Not an hour later, as after one that failed; but once another night was missed.
        shelf.Clock.Advance(TimeSpan.FromHours(2));
        Assert.False(await shelf.IsBackupDueAsync());
        shelf.Clock.Advance(TimeSpan.FromHours(24));
        Assert.True(await shelf.IsBackupDueAsync());

        // That it was stopped once stops no other, and the first two are not copied again.
        var made = Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync());
        Assert.Equal((4, 1), (made.Blobs, made.NewBlobs));
        await using (var db = shelf.Open())
            Assert.Null((await db.Shops.SingleAsync()).BackupStoppedAt);
        Assert.Equal(["blobs", first, made.Name], Folders(shelf));
    }

    [Fact]
    public async Task Stopped_while_the_database_is_copied_its_half_made_folder_goes()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop());
        await shelf.StoreAsync("one");
        var first = await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.StoreAsync("two");
        var stopping = new StoppingCopies(shelf);
        Assert.IsType<BackupOutcome.Stopped>(await shelf.BackUpAsync(stopping));
        Assert.True(stopping.HadFolder);
        Assert.Equal(["blobs", first], Folders(shelf));
    }

    [Fact]
    public async Task A_stop_by_a_clock_that_is_set_back_later_stops_no_other()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop());
        await shelf.AddAsync(new JobRun { Name = "BackupJob", StartedAt = shelf.Now.AddDays(9) });
        await using (var db = shelf.Open())
            await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.BackupStoppedAt, shelf.Now.AddDays(9)));
        Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync());
    }

    private static IEnumerable<string?> Folders(UpkeepShelf shelf) =>
        Directory.GetDirectories(shelf.Backups).Select(d => Path.GetFileName(d)).OrderBy(d => d != "blobs").ThenBy(d => d, StringComparer.Ordinal);

    /// <summary>The maker stops the backup when the database has just been copied.</summary>
    private sealed class StoppingCopies(UpkeepShelf shelf) : IDatabaseCopies
    {
        public bool HadFolder { get; private set; }

        public string FileName => shelf.Copies.FileName;

        public bool IsDatabase => shelf.Copies.IsDatabase;

        public async Task<string?> CopyAsync(string file, CancellationToken cancellationToken)
        {
            var why = await shelf.Copies.CopyAsync(file, CancellationToken.None);
            HadFolder = File.Exists(file);
            Assert.True(await shelf.StopBackupAsync());
            shelf.Clock.Advance(TimeSpan.FromSeconds(1));
            return why;
        }

        public Task<Core.Data.ShelfDb?> OpenAsync(string file, CancellationToken cancellationToken) => shelf.Copies.OpenAsync(file, cancellationToken);

        public Task SkipNumbersAsync(Core.Data.ShelfDb restored, string table, CancellationToken cancellationToken) => shelf.Copies.SkipNumbersAsync(restored, table, cancellationToken);
    }
}

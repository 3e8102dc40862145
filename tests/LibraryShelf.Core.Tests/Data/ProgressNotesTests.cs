using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>How far a work is: told while it runs, and never in its way.</summary>
public sealed class ProgressNotesTests
{
    [Fact]
    public async Task What_the_database_does_not_take_is_not_told_and_the_work_goes_on()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        await db.Database.ExecuteSqlRawAsync("DROP TABLE \"WorkProgress\"");
        var notes = new ProgressNotes(db, shelf.Clock, ProgressNotes.Listen(1));
        Assert.True(await notes.SayAsync(Progress.OfThings(1, 2), CancellationToken.None));
        var work = new TaskCompletionSource<int>();
        Assert.Equal(7, await notes.FollowAsync(work.Task, () => { work.TrySetResult(7); return Progress.OfThings(2, 2); }, CancellationToken.None));
        await notes.EndAsync();
    }

    [Fact]
    public async Task Once_it_is_called_off_it_waits_for_the_works_end_without_asking_on()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        using var off = new CancellationTokenSource();
        var (work, asked) = (new TaskCompletionSource<int>(), 0);
        Progress Far()
        {
            off.Cancel();
            // Asked so often, nobody waits between.
            if (++asked == 100)
                work.SetResult(0);
            return Progress.OfThings(0, 0);
        }
        var following = new ProgressNotes(db, shelf.Clock, ProgressNotes.Listen(1)).FollowAsync(work.Task, Far, off.Token);
        Assert.False(following.IsCompleted);
        Assert.Equal(1, asked);
        work.SetResult(7);
        Assert.Equal(7, await following);
    }
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <summary>How far one backup is, in bytes that are copied or read again, and whether the maker stopped it since it began.</summary>
internal sealed class BackupFar(ShelfDb db, ProgressNotes notes, DateTimeOffset? stoppedBefore)
{
    private long done, total;

    public static async Task<BackupFar> BeginAsync(ShelfDb db, TimeProvider clock, CancellationToken cancellationToken) =>
        new(db, new ProgressNotes(db, clock, ProgressNotes.Backup), await StoppedAtAsync(db, cancellationToken));

    /// <summary>So many more bytes are to come.</summary>
    public void Expect(long bytes) => total += bytes;

    /// <summary>So many more are done.</summary>
    /// <exception cref="WorkStoppedException">The maker stopped it.</exception>
    public async Task DoneAsync(long bytes, CancellationToken cancellationToken)
    {
        done += bytes;
        if (await notes.SayAsync(Now(0), cancellationToken) && !await GoesOnAsync(cancellationToken))
            throw new WorkStoppedException(ProgressNotes.Backup);
    }

    /// <summary>While <paramref name="work"/> runs, with how much of its bytes are there.</summary>
    /// <exception cref="WorkStoppedException">The maker stopped it.</exception>
    public Task<T> FollowAsync<T>(Func<CancellationToken, Task<T>> work, Func<long> there, CancellationToken cancellationToken) =>
        notes.FollowAsync(work, () => Now(there()), GoesOnAsync, cancellationToken);

    public Task EndAsync() => notes.EndAsync();

    private Progress Now(long more) => Progress.OfBytes(Math.Min(done + more, total), total);

    /// <summary>Another instant than before: by a clock that was set back, too, it is one of after.</summary>
    private async Task<bool> GoesOnAsync(CancellationToken cancellationToken) => await StoppedAtAsync(db, cancellationToken) == stoppedBefore;

    private static Task<DateTimeOffset?> StoppedAtAsync(ShelfDb db, CancellationToken cancellationToken) => db.Shops.Select(s => s.BackupStoppedAt).SingleOrDefaultAsync(cancellationToken);
}

using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Data;

/// <summary>
/// Two changes meet: the later writer's rows are not the ones it read (a revision moved on, a name was taken, a row went). It then looks
/// again, with nothing left in the context, and decides anew. No provider's error code is read: what was in the way is found by looking.
/// </summary>
internal static class FreshEyes
{
    public const int MostTries = 3;

    /// <summary>For an attempt that only adds rows: there is no revision at which it could meet another change.</summary>
    public static T Never<T>() => throw new InvalidOperationException("Rows that were only added met a change of themselves.");

    /// <summary>
    /// Runs <paramref name="attempt"/>, which reads, decides and writes (in a transaction of its own, if any), up to
    /// <see cref="MostTries"/> times; when each met another change, answers <paramref name="changedMeanwhile"/>. A write refused for
    /// another reason (a full disk) throws <see cref="DbUpdateException"/>.
    /// </summary>
    public static async Task<T> LookAsync<T>(ShelfDb db, Func<Task<T>> attempt, Func<T> changedMeanwhile)
    {
        for (var tries = 1; ; tries++)
        {
            try
            {
                return await attempt();
            }
            catch (DbUpdateConcurrencyException) when (tries >= MostTries)
            {
                return changedMeanwhile();
            }
            catch (DbUpdateException) when (tries < MostTries)
            {
                db.ChangeTracker.Clear();
            }
        }
    }
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Upkeep;

/// <summary>Writes the last run of a job over the one before it.</summary>
public sealed class NoteJobRun(ShelfDb db)
{
    /// <param name="run">Of <see cref="JobRun.Name"/>; its id does not matter.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task RunAsync(JobRun run, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(run);
        for (var tries = 1; ; tries++)
        {
            var written = await db.JobRuns.Where(r => r.Name == run.Name).ExecuteUpdateAsync(s => s
                .SetProperty(r => r.StartedAt, run.StartedAt).SetProperty(r => r.EndedAt, run.EndedAt).SetProperty(r => r.Trouble, run.Trouble), cancellationToken);
            if (written > 0)
                return;
            try
            {
                db.JobRuns.Add(new JobRun { Name = run.Name, StartedAt = run.StartedAt, EndedAt = run.EndedAt, Trouble = run.Trouble });
                await db.SaveChangesAsync(cancellationToken);
                return;
            }
            catch (DbUpdateException) when (tries < FreshEyes.MostTries)
            {
                // Another run of the same job wrote its row first.
                db.ChangeTracker.Clear();
            }
        }
    }
}

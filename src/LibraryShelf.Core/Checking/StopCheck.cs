using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

public abstract record StopCheckOutcome
{
    private StopCheckOutcome() { }

    /// <summary>The wish is taken back; the release says so, with how much is measured. A check that runs ends within a recording or two.</summary>
    public sealed record Stopped : StopCheckOutcome;

    /// <summary>Nothing was changed: it had ended by itself, or was never asked for.</summary>
    public sealed record NotRunning(string Message) : StopCheckOutcome;

    public sealed record NoSuchRelease : StopCheckOutcome;

    /// <summary>The release kept changing at this very moment; nothing was stopped.</summary>
    public sealed record ChangedMeanwhile : StopCheckOutcome;
}

/// <summary>
/// Stops a check that runs, or waits to be run. What was measured stands by content hash and is not measured again; the folder stays a draft without a sheet.
/// </summary>
public sealed class StopCheck(ShelfDb db)
{
    public Task<StopCheckOutcome> RunAsync(long releaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<StopCheckOutcome>(db, () => StopAsync(releaseId, cancellationToken), () => new StopCheckOutcome.ChangedMeanwhile());

    private async Task<StopCheckOutcome> StopAsync(long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new StopCheckOutcome.NoSuchRelease();
        if (release is not { State: ReleaseState.Draft, CheckAskedAt: not null })
            return new StopCheckOutcome.NotRunning(release.State == ReleaseState.Draft
                ? T("No check was running, so nothing was stopped.")
                : T($"The check of {release.Number} had ended before it could be stopped. Its sheet is here."));
        release.CheckAskedAt = null;
        release.Trouble = release.StoppedWords = T($"You stopped the check of {release.Number}. {Kept(release)} The folder is kept as it was sent. To go on, check the folder whenever you like.");
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new StopCheckOutcome.Stopped();
    }

    private static string Kept(Release release) => (release.CheckDone, release.CheckTotal) switch
    {
        (0, _) or (_, 0) => T("Nothing was measured yet."),
        (1, 1) => T("Its one recording is measured, and that is kept."),
        var (done, all) when done >= all => T($"All {all} recordings are measured, and that is kept."),
        (1, var all) => T($"1 of {all} recordings is measured, and that is kept: the next check measures only the others."),
        var (done, all) => T($"{done} of {all} recordings are measured, and that is kept: the next check measures only the others."),
    };
}

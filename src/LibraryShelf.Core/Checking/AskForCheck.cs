using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

public abstract record AskForCheckOutcome
{
    private AskForCheckOutcome() { }

    /// <summary>The wish is written (or was before); wake the check.</summary>
    public sealed record Asked : AskForCheckOutcome;

    /// <summary>Nothing was changed: so many files are not on the shelf yet (0: a zip is being unpacked).</summary>
    public sealed record StillOnTheWay(int Files, string Message) : AskForCheckOutcome;

    /// <summary>Nothing was changed: the release is checked already, or sealed.</summary>
    public sealed record NotADraft(string Message) : AskForCheckOutcome;

    /// <summary>The release kept changing at this very moment; nothing was asked.</summary>
    public sealed record ChangedMeanwhile : AskForCheckOutcome;

    public sealed record NoSuchRelease : AskForCheckOutcome;
}

/// <summary>Writes down the wish to check a draft, once all its bytes are here.</summary>
public sealed class AskForCheck(ShelfDb db, TimeProvider clock)
{
    public Task<AskForCheckOutcome> RunAsync(long releaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<AskForCheckOutcome>(db, () => AskAsync(releaseId, cancellationToken), () => new AskForCheckOutcome.ChangedMeanwhile());

    private async Task<AskForCheckOutcome> AskAsync(long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new AskForCheckOutcome.NoSuchRelease();
        if (release.State != ReleaseState.Draft)
            return new AskForCheckOutcome.NotADraft(release.State == ReleaseState.Checked
                ? T($"Version {release.Number} is checked already, and nothing has changed since.")
                : T($"Version {release.Number} is sealed; its contents can’t change, so there is nothing to check."));
        if (await WhyNotYetAsync(releaseId, cancellationToken) is { } notYet)
            return notYet;
        if (release.CheckAskedAt is not null)
            return new AskForCheckOutcome.Asked();
        release.CheckAskedAt = clock.GetUtcNow();
        release.CheckDone = release.CheckTotal = 0;
        release.Trouble = null;
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new AskForCheckOutcome.Asked();
    }

    private async Task<AskForCheckOutcome?> WhyNotYetAsync(long releaseId, CancellationToken cancellationToken)
    {
        var missing = await MissingFiles.CountAsync(db, releaseId, cancellationToken);
        if (missing > 0)
            return new AskForCheckOutcome.StillOnTheWay(missing, MissingFiles.Words(missing));
        return await WaitingZips.Of(db, releaseId).AnyAsync(cancellationToken)
            ? new AskForCheckOutcome.StillOnTheWay(0, T("The zip is still being unpacked. Ask for the check again in a moment."))
            : null;
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

public abstract record WithdrawReleaseOutcome
{
    private WithdrawReleaseOutcome() { }

    /// <summary>It is off the shelf, and so many people are to be told by mail (<see cref="TellPeople"/>): wake its job.</summary>
    public sealed record Withdrawn(int Told) : WithdrawReleaseOutcome;

    /// <summary>Nothing was changed; the field is Reason.</summary>
    public sealed record Refused(Refusal Refusal) : WithdrawReleaseOutcome;

    /// <summary>It is neither on the shelf nor with chosen people (any more); nothing was changed.</summary>
    public sealed record NotOut : WithdrawReleaseOutcome;

    /// <summary>The release kept changing at this very moment; nothing was changed.</summary>
    public sealed record ChangedMeanwhile : WithdrawReleaseOutcome;

    public sealed record NoSuchRelease : WithdrawReleaseOutcome;
}

/// <summary>
/// Takes a version back, for good, with a reason that everyone may read. Its links stop with the next request, because they look at its state.
/// Everyone who fetched it, or was offered it in place of another, is told by <see cref="TellPeople"/>. What it was to mend is open again.
/// </summary>
public sealed class WithdrawRelease(ShelfDb db, TimeProvider clock)
{
    /// <summary>Longest reason, letters.</summary>
    public const int MaxReasonLength = 1000;

    /// <param name="releaseId">One on the shelf, or with chosen people.</param>
    /// <param name="reason">Plain text.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<WithdrawReleaseOutcome> RunAsync(long releaseId, string? reason, string? shelfAddress, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<WithdrawReleaseOutcome>(
            db, () => WithdrawAsync(releaseId, reason?.Trim() ?? "", shelfAddress, cancellationToken), () => new WithdrawReleaseOutcome.ChangedMeanwhile());

    private async Task<WithdrawReleaseOutcome> WithdrawAsync(long releaseId, string reason, string? shelfAddress, CancellationToken cancellationToken)
    {
        if (reason.Length is 0 or > MaxReasonLength)
            return new WithdrawReleaseOutcome.Refused(new Refusal("Reason", reason.Length == 0
                ? T("Write a reason: people who have this version want to know what is wrong with it.")
                : T($"The reason is longer than {MaxReasonLength} letters. Shorten it.")));
        var release = await db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new WithdrawReleaseOutcome.NoSuchRelease();
        var now = clock.GetUtcNow();
        if (!release.MoveTo(ReleaseState.Withdrawn, now))
            return new WithdrawReleaseOutcome.NotOut();

        (release.WithdrawnBecause, release.TellPlace) = (reason, shelfAddress);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await ReopenFaults.RunAsync(db, release, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new WithdrawReleaseOutcome.Withdrawn(await ToldOfWithdrawal.CountAsync(db, release, cancellationToken));
    }
}

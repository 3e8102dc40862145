using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

public abstract record AskForSealOutcome
{
    private AskForSealOutcome() { }

    /// <summary>The wish is written; wake the seal job.</summary>
    public sealed record Asked : AskForSealOutcome;

    /// <summary>Asked before or sealed already; nothing more to do.</summary>
    public sealed record AlreadyAsked : AskForSealOutcome;

    /// <summary>Nothing was changed; each reason says what to do.</summary>
    public sealed record NotReady(IReadOnlyList<string> Reasons) : AskForSealOutcome;

    /// <summary>The release kept changing at this very moment; nothing was asked.</summary>
    public sealed record ChangedMeanwhile : AskForSealOutcome;

    public sealed record NoSuchRelease : AskForSealOutcome;
}

/// <summary>
/// Writes down the maker's wish to seal a release, and who to publish it for at once (null: seal only). What she declares with it
/// (<see cref="Declaration"/>) is kept on the library.
/// </summary>
public sealed class AskForSeal(ShelfDb db, TimeProvider clock)
{
    public Task<AskForSealOutcome> RunAsync(long releaseId, Audience? publishFor, bool declares, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<AskForSealOutcome>(
            db, () => AskAsync(releaseId, publishFor, declares, cancellationToken), () => new AskForSealOutcome.ChangedMeanwhile());

    private async Task<AskForSealOutcome> AskAsync(long releaseId, Audience? publishFor, bool declares, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Players).Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new AskForSealOutcome.NoSuchRelease();
        if (release.IsSealed || release.SealAskedAt is not null)
            return new AskForSealOutcome.AlreadyAsked();
        var readiness = await SealReadiness.LookAsync(db, release, cancellationToken);
        if (!readiness.IsReady)
            return new AskForSealOutcome.NotReady(readiness.Reasons);

        var now = clock.GetUtcNow();
        if (declares)
            release.Library.Declare(now);
        release.SealAskedAt = now;
        release.PublishAfterSealFor = publishFor;
        release.Trouble = null;
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new AskForSealOutcome.Asked();
    }
}

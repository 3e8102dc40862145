using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

public abstract record JudgeAgainOutcome
{
    private JudgeAgainOutcome() { }

    /// <summary>The release is a draft again, with the wish to check it; wake the check.</summary>
    public sealed record Asked : JudgeAgainOutcome;

    /// <summary>Nothing was changed: it has no sheet, or is sealed or about to be.</summary>
    public sealed record Closed(string Message) : JudgeAgainOutcome;

    /// <summary>The release kept changing at this very moment; nothing was asked.</summary>
    public sealed record ChangedMeanwhile : JudgeAgainOutcome;

    public sealed record NoSuchRelease : JudgeAgainOutcome;
}

/// <summary>Has a checked release's sheet written anew. Known measurements stand, so nothing unchanged is measured twice.</summary>
public sealed class JudgeAgain(ShelfDb db, TimeProvider clock)
{
    public Task<JudgeAgainOutcome> RunAsync(long releaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<JudgeAgainOutcome>(db, () => AskAsync(releaseId, cancellationToken), () => new JudgeAgainOutcome.ChangedMeanwhile());

    private async Task<JudgeAgainOutcome> AskAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new JudgeAgainOutcome.NoSuchRelease();
        if (DraftContents.WhyClosed(release) is not null)
            return new JudgeAgainOutcome.Closed(T($"Version {release.Number} is sealed or being sealed, so its sheet stays as it is."));
        if (release.State == ReleaseState.Draft)
            return release.CheckAskedAt is null
                ? new JudgeAgainOutcome.Closed(T($"Version {release.Number} is not checked yet. Check its folder first."))
                : new JudgeAgainOutcome.Asked();
        DraftContents.Changed(release, clock.GetUtcNow());
        release.CheckAskedAt = clock.GetUtcNow();
        await db.SaveChangesAsync(cancellationToken);
        return new JudgeAgainOutcome.Asked();
    }
}

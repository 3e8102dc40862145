using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

public enum DecideAudienceOutcome
{
    Decided,
    /// <summary>It already was for these people; no decision is added.</summary>
    Unchanged,
    /// <summary>The library kept changing at this very moment; nothing was decided.</summary>
    ChangedMeanwhile,
    NoSuchLibrary,
}

/// <summary>
/// Decides, as of now, who a library is for. Decisions are appended with their date and never changed, so that what someone took
/// while it was free stays hers.
/// </summary>
public sealed class DecideAudience(ShelfDb db, TimeProvider clock)
{
    public Task<DecideAudienceOutcome> RunAsync(string slug, Audience audience, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, () => DecideAsync(slug, audience, cancellationToken), () => DecideAudienceOutcome.ChangedMeanwhile);

    private async Task<DecideAudienceOutcome> DecideAsync(string slug, Audience audience, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.Include(l => l.Audiences).FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return DecideAudienceOutcome.NoSuchLibrary;
        if (!library.Decide(audience, clock.GetUtcNow()))
            return DecideAudienceOutcome.Unchanged;
        await db.SaveChangesAsync(cancellationToken);
        return DecideAudienceOutcome.Decided;
    }
}

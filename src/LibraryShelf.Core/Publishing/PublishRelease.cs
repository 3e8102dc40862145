using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

public enum PublishReleaseOutcome
{
    Published,
    /// <summary>It was on the shelf before; nothing was changed, nor who it is for.</summary>
    AlreadyPublished,
    /// <summary>Only a sealed release can be published.</summary>
    NotSealed,
    NoSuchRelease,
}

/// <summary>Puts a sealed release on the shelf, and decides who its library is for when that changes.</summary>
public sealed class PublishRelease(ShelfDb db, TimeProvider clock)
{
    public async Task<PublishReleaseOutcome> RunAsync(long releaseId, Audience audience, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return PublishReleaseOutcome.NoSuchRelease;
        if (release.State == ReleaseState.Published)
            return PublishReleaseOutcome.AlreadyPublished;
        var now = clock.GetUtcNow();
        if (!release.MoveTo(ReleaseState.Published, now))
            return PublishReleaseOutcome.NotSealed;

        release.PublishAfterSealFor = null;
        release.Library.Decide(audience, now);
        await db.SaveChangesAsync(cancellationToken);
        return PublishReleaseOutcome.Published;
    }
}

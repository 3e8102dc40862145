using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

public enum PublishReleaseOutcome
{
    Published,
    /// <summary>It was on the shelf before; nothing was changed, nor who it is for.</summary>
    AlreadyPublished,
    /// <summary>Only a sealed release can be published.</summary>
    NotSealed,
    /// <summary>Its archive can't be read through (<see cref="Archive.Trouble"/>). Nothing was published, and a wish to publish is taken back.</summary>
    ArchiveDamaged,
    /// <summary>The release or its library kept changing at this very moment; nothing was published.</summary>
    ChangedMeanwhile,
    NoSuchRelease,
}

/// <summary>Puts a sealed release on the shelf, and decides who its library is for when that changes.</summary>
public sealed class PublishRelease(ShelfDb db, TimeProvider clock)
{
    public const string DamagedWords =
        "Its archive can't be read through, so whoever downloads it might get nothing whole. It stays sealed. Read it through again on its page; once that goes well, publish it.";

    public Task<PublishReleaseOutcome> RunAsync(long releaseId, Audience audience, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, () => PublishAsync(releaseId, audience, cancellationToken), () => PublishReleaseOutcome.ChangedMeanwhile);

    private async Task<PublishReleaseOutcome> PublishAsync(long releaseId, Audience audience, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return PublishReleaseOutcome.NoSuchRelease;
        if (release.State == ReleaseState.Published)
            return PublishReleaseOutcome.AlreadyPublished;
        if (await db.Archives.AnyAsync(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full && a.Sha256 == null && a.Trouble != null, cancellationToken))
            return await RefuseDamagedAsync(release, cancellationToken);
        var now = clock.GetUtcNow();
        if (!release.MoveTo(ReleaseState.Published, now))
            return PublishReleaseOutcome.NotSealed;

        release.PublishAfterSealFor = null;
        release.Trouble = null;
        release.Library.Decide(audience, now);
        await db.SaveChangesAsync(cancellationToken);
        return PublishReleaseOutcome.Published;
    }

    private async Task<PublishReleaseOutcome> RefuseDamagedAsync(Release release, CancellationToken cancellationToken)
    {
        if (release.PublishAfterSealFor is not null)
        {
            release.PublishAfterSealFor = null;
            release.Trouble = $"Version {release.Number} was not published. {DamagedWords}";
            release.Revision++;
            await db.SaveChangesAsync(cancellationToken);
        }
        return PublishReleaseOutcome.ArchiveDamaged;
    }
}

using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Membership;

/// <summary>May this person download this release now? Loads the facts and asks <see cref="MayDownload"/>.</summary>
public sealed class ReadRights(ShelfDb db, TimeProvider clock)
{
    /// <param name="releaseId">A release that is not there counts as not on the shelf.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    public async Task<MayDownloadWhy> RunAsync(long releaseId, long? personId, CancellationToken cancellationToken)
    {
        var release = await PersonQuestions.Release.For(db)(db, releaseId, cancellationToken);
        if (release is null) return MayDownloadWhy.NotOnTheShelf;
        var now = clock.GetUtcNow();
        return (await PersonFacts.LoadAsync(db, personId, release, now, cancellationToken)).MayHave(release, release.Library, now);
    }
}

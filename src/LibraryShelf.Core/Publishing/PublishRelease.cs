using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Publishing;

public enum PublishReleaseOutcome
{
    /// <summary>Wake the job that tells people.</summary>
    Published,
    /// <summary>It was on the shelf before; nothing was changed, nor who it is for.</summary>
    AlreadyPublished,
    /// <summary>Only a sealed release, or one with chosen people, can be published.</summary>
    NotSealed,
    /// <summary>It stands in a planned drop and comes out with it. Taken out of the drop, it can be published by hand.</summary>
    WaitsForItsDrop,
    /// <summary>
    /// The maker has not declared that the library's recordings are hers to give (<see cref="Declaration"/>). Nothing was published; a wish to
    /// publish stays on the release, with the words.
    /// </summary>
    NotDeclared,
    /// <summary>Its archive can't be read through (<see cref="Archive.Trouble"/>). Nothing was published, and a wish to publish is taken back.</summary>
    ArchiveDamaged,
    /// <summary>The release or its library kept changing at this very moment; nothing was published.</summary>
    ChangedMeanwhile,
    NoSuchRelease,
}

/// <summary>
/// Puts a sealed release on the shelf, and decides who its library is for when that changes. Those for whom its coming is the answer are told by
/// <see cref="TellPeople"/>: who told of a fault it mends, and whose version was withdrawn with nothing good in its place.
/// </summary>
public sealed class PublishRelease(ShelfDb db, TimeProvider clock)
{
    public static string DamagedWords =>
        T("Its archive can’t be read through, so whoever downloads it might get nothing whole. It stays sealed. Read it through again on its page; once that goes well, publish it.");

    /// <param name="releaseId">A sealed one, or one that chosen people have.</param>
    /// <param name="audience">Who the library is for from now on.</param>
    /// <param name="declares">The maker declares what <see cref="Declaration.Words"/> says.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<PublishReleaseOutcome> RunAsync(
        long releaseId, Audience audience, bool declares, string? shelfAddress, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(
            db, () => PublishAsync(releaseId, audience, declares, shelfAddress, cancellationToken), () => PublishReleaseOutcome.ChangedMeanwhile);

    private async Task<PublishReleaseOutcome> PublishAsync(
        long releaseId, Audience audience, bool declares, string? shelfAddress, CancellationToken cancellationToken)
    {
        // It holds the writer, so that no drop is filled with this version meanwhile.
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var outcome = await DecideAsync(releaseId, audience, declares, shelfAddress, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    private async Task<PublishReleaseOutcome> DecideAsync(
        long releaseId, Audience audience, bool declares, string? shelfAddress, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return PublishReleaseOutcome.NoSuchRelease;
        if (release.State == ReleaseState.Published)
            return PublishReleaseOutcome.AlreadyPublished;
        if (release.State is ReleaseState.Draft or ReleaseState.Checked or ReleaseState.Withdrawn)
            return PublishReleaseOutcome.NotSealed;
        // Whatever its state says: one that chosen people have stays with them, and one just sealed is not scheduled yet.
        if (release.State == ReleaseState.Scheduled || await PlannedDrops.MonthOfAsync(db, releaseId, cancellationToken) is not null)
            return PublishReleaseOutcome.WaitsForItsDrop;
        var now = clock.GetUtcNow();
        if (declares)
            release.Library.Declare(now);
        if (await PublishGate.LookAsync(db, release, cancellationToken) is { } trouble)
            return await RefuseAsync(release, trouble, cancellationToken);

        release.MoveTo(ReleaseState.Published, now);
        release.PublishAfterSealFor = null;
        release.Trouble = null;
        release.TellPlace = shelfAddress;
        release.Library.Decide(audience, now);
        release.InheritMonths(await db.Releases.Where(r => r.LibraryId == release.LibraryId && r.DropMonths != "").ToListAsync(cancellationToken));
        await SetMonthAsync(release, audience, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        return PublishReleaseOutcome.Published;
    }

    /// <summary>A library that first comes out for members is the box of that month; whoever pays for the month keeps it.</summary>
    private async Task SetMonthAsync(Release release, Audience audience, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (audience != Audience.Members || release.Library.Month is not null
            || await db.Releases.AnyAsync(r => r.LibraryId == release.LibraryId && r.Id != release.Id && r.PublishedAt != null, cancellationToken))
            return;
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken) ?? "");
        release.Library.Month = now.ToInstant().InZone(zone).Date.ToYearMonth();
    }

    private async Task<PublishReleaseOutcome> RefuseAsync(Release release, GateTrouble trouble, CancellationToken cancellationToken)
    {
        var isDamaged = trouble == GateTrouble.ArchiveDamaged;
        var words = T($"Version {release.Number} was not published. {(isDamaged ? DamagedWords : Declaration.Missing)}");
        if (release.PublishAfterSealFor is not null && release.Trouble != words)
        {
            // She can't mend a store by pressing, but she can declare: only then is what she wished for still to be had.
            if (isDamaged)
                release.PublishAfterSealFor = null;
            release.Trouble = words;
            release.Revision++;
            await db.SaveChangesAsync(cancellationToken);
        }
        return isDamaged ? PublishReleaseOutcome.ArchiveDamaged : PublishReleaseOutcome.NotDeclared;
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>
/// Puts a version into a month's drop, or takes it out. A sealed one is scheduled by it; a draft stands there until it is sealed; one that chosen
/// people have stays with them. A version is in one drop, and a drop has one version of a library. A drop that is filled otherwise after its hour asks before it goes.
/// </summary>
public sealed class FillDrop(ShelfDb db, TimeProvider clock)
{
    /// <summary>Most versions in one drop.</summary>
    public const int Most = 50;

    public Task<DropOutcome> RunAsync(YearMonth month, long releaseId, bool isIn, CancellationToken cancellationToken) => FreshEyes.LookAsync<DropOutcome>(
        db, () => isIn ? PutInAsync(month, releaseId, cancellationToken) : TakeOutAsync(month, releaseId, cancellationToken), () => new DropOutcome.ChangedMeanwhile());

    private async Task<DropOutcome> PutInAsync(YearMonth month, long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        var release = await db.Releases.Include(r => r.Library).SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (drop is null || release is null)
            return new DropOutcome.Missing();
        var now = clock.GetUtcNow();
        if (await db.DropReleases.AnyAsync(r => r.DropId == drop.Id && r.ReleaseId == releaseId, cancellationToken))
            return DropOutcome.Done.Of(drop, now);
        if (await RefusalAsync(drop, release, cancellationToken) is { } words)
            return new DropOutcome.Refused("", words);
        var place = await db.DropReleases.Where(r => r.DropId == drop.Id).MaxAsync(r => (int?)r.Place, cancellationToken) ?? -1;
        db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = releaseId, Place = place + 1 });
        // From here on the drop says when it comes to the shelf.
        if (release.PublishAfterSealFor is not null)
            (release.PublishAfterSealFor, release.Revision) = (null, release.Revision + 1);
        if (release.State == ReleaseState.Sealed)
            release.MoveTo(ReleaseState.Scheduled, now);
        drop.AskIfDue(now);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return DropOutcome.Done.Of(drop, now);
    }

    private async Task<string?> RefusalAsync(Drop drop, Release release, CancellationToken cancellationToken)
    {
        var name = $"{release.Library.Title} {release.Number}";
        if (drop.State != DropState.Planned)
            return drop.State == DropState.Sent ? T("This drop is out, so nothing can be put into it any more.") : T("This drop was called off. Plan it anew first.");
        if (release.State is ReleaseState.Published or ReleaseState.Withdrawn)
            return release.State == ReleaseState.Published
                ? T($"{name} is on the shelf already. Choose another version.")
                : T($"{name} was withdrawn. Choose another version.");
        var others = await db.DropReleases.Where(r => r.ReleaseId == release.Id || r.DropId == drop.Id)
            .Join(db.Releases, r => r.ReleaseId, r => r.Id, (row, other) => new { row.DropId, ReleaseId = other.Id, other.LibraryId, other.Number }).ToListAsync(cancellationToken);
        if (others.Find(o => o.ReleaseId == release.Id) is { } elsewhere)
        {
            var month = await db.Drops.Where(d => d.Id == elsewhere.DropId).Select(d => d.Month).SingleAsync(cancellationToken);
            return T($"{name} is in the drop of {DropWhen.Name(month)}. Take it out there first.");
        }
        if (others.Find(o => o.LibraryId == release.LibraryId) is { } sibling)
            return T($"{release.Library.Title} {sibling.Number} is in this drop, and a drop has one version of a library. Take that out first.");
        return others.Count >= Most ? T($"There are {Most} versions in this drop already.") : null;
    }

    private async Task<DropOutcome> TakeOutAsync(YearMonth month, long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var drop = await db.Drops.SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        var row = drop is null ? null : await db.DropReleases.SingleOrDefaultAsync(r => r.DropId == drop.Id && r.ReleaseId == releaseId, cancellationToken);
        if (row is null)
            return new DropOutcome.Missing();
        if (drop!.State == DropState.Sent)
            return new DropOutcome.Refused("", T("This drop is out. A version of it can be withdrawn on its own page, and not taken out."));
        var now = clock.GetUtcNow();
        db.DropReleases.Remove(row);
        await BackToSealed.RunAsync(db, [releaseId], now, cancellationToken);
        drop.AskIfDue(now);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return DropOutcome.Done.Of(drop, now);
    }
}

/// <summary>Versions that no drop waits for any more are sealed as before.</summary>
internal static class BackToSealed
{
    /// <summary>Saved by the caller.</summary>
    public static async Task RunAsync(ShelfDb db, IReadOnlyCollection<long> releases, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var release in await db.Releases.Where(r => releases.Contains(r.Id) && r.State == ReleaseState.Scheduled).ToListAsync(cancellationToken))
            release.MoveTo(ReleaseState.Sealed, now);
    }
}

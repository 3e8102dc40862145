using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>What became of a drop that was to go out.</summary>
public abstract record SendDropOutcome
{
    private SendDropOutcome() { }

    /// <summary>It is out, whole. Wake the telling of these versions, and the mail.</summary>
    /// <param name="Published">Those that came to the shelf with it.</param>
    /// <param name="Mails">How many were written.</param>
    public sealed record Sent(IReadOnlyList<long> Published, int Mails) : SendDropOutcome;

    /// <summary>It is due and lacks something, so nothing of it went out. <paramref name="Words"/> are for the maker, and stand on the drop.</summary>
    public sealed record NotWhole(string Words) : SendDropOutcome;

    /// <summary>Its hour has not come, or it went out before, or was called off, or there is none: nothing was done.</summary>
    public sealed record NotNow : SendDropOutcome;

    /// <summary>Nothing goes out until the maker says that this is the one shelf (<see cref="Shop.HeldSince"/>).</summary>
    public sealed record Held : SendDropOutcome;
}

/// <summary>
/// Sends a month's drop that is due: in one transaction its versions come to the shelf, the month's rights exist, and a mail to each member stands in the
/// outbox, or none of it. Two that send at once: the second finds it sent.
/// </summary>
public sealed class SendDrop(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <param name="dropId">Which.</param>
    /// <param name="shelfAddress">For the mails about what its versions mend, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public async Task<SendDropOutcome> RunAsync(long dropId, string? shelfAddress, CancellationToken cancellationToken)
    {
        await WarmUpAsync(dropId, cancellationToken);
        // It holds the writer from its first read, so nobody fills, moves or sends it meanwhile.
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        if (await db.Shops.AnyAsync(s => s.HeldSince != null, cancellationToken))
            return new SendDropOutcome.Held();
        if (await db.Drops.SingleOrDefaultAsync(d => d.Id == dropId, cancellationToken) is not { } drop)
            return new SendDropOutcome.NotNow();
        var outcome = drop.State == DropState.Planned && drop.DueAt <= now
            ? await SendAsync(drop, shelfAddress, now, cancellationToken)
            : new SendDropOutcome.NotNow();
        var trouble = (outcome as SendDropOutcome.NotWhole)?.Words;
        if (trouble is not null)
            // What was moved in memory on the way to finding out is not written.
            db.ChangeTracker.Clear();
        await db.Drops.Where(d => d.Id == dropId && d.Trouble != trouble).ExecuteUpdateAsync(s => s.SetProperty(d => d.Trouble, trouble), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    /// <summary>
    /// A drop goes out once a month, so what it asks is no longer, or not yet, worked out in memory, and working it out takes longer than asking. So all of it is asked
    /// once before anybody is kept from writing; what is answered is not used.
    /// </summary>
    private async Task WarmUpAsync(long dropId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        foreach (var release in await ReleasesAsync([.. (await DropVersions.LoadAsync(db, [dropId], now, cancellationToken))[dropId]], cancellationToken))
            await PublishGate.LookAsync(db, release, cancellationToken);
        DropMails.WarmUp(db, now);
        db.ChangeTracker.Clear();
    }

    private Task<List<Release>> ReleasesAsync(List<DropVersion> versions, CancellationToken cancellationToken)
    {
        var ids = versions.ConvertAll(v => v.ReleaseId);
        return db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences).Include(r => r.Library.Releases).AsSplitQuery()
            .Where(r => ids.Contains(r.Id)).ToListAsync(cancellationToken);
    }

    private async Task<SendDropOutcome> SendAsync(Drop drop, string? shelfAddress, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var versions = (await DropVersions.LoadAsync(db, [drop.Id], now, cancellationToken))[drop.Id].ToList();
        if (DropReadiness.Of(drop.Month, versions) is { Count: > 0 } gaps)
            return NotWhole(drop, [.. gaps.Select(g => g.Words)]);
        var published = new List<long>();
        foreach (var release in (await ReleasesAsync(versions, cancellationToken)).OrderBy(r => r.Number, ReleaseNumbers.ByPrecedence))
        {
            if (release.State != ReleaseState.Published)
            {
                if (await PublishGate.LookAsync(db, release, cancellationToken) is not null)
                    return NotWhole(drop, [$"{release.Library.Title} {release.Number} can't be published. Its page says why."]);
                published.Add(release.Id);
            }
            BringOut(release, drop.Month, shelfAddress, now);
        }
        (drop.State, drop.SentAt) = (DropState.Sent, now);
        drop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new SendDropOutcome.Sent(
            published, await DropMails.WriteAsync(db, drop.Id, now, TimeSpan.FromHours(settings.Value.Mail.SpreadHours), cancellationToken));
    }

    private static void BringOut(Release release, YearMonth month, string? shelfAddress, DateTimeOffset now)
    {
        var library = release.Library;
        var isFirst = library.Releases.TrueForAll(r => r.PublishedAt is null);
        if (release.State != ReleaseState.Published)
        {
            release.MoveTo(ReleaseState.Published, now);
            (release.PublishAfterSealFor, release.Trouble, release.TellPlace) = (null, null, shelfAddress);
            release.InheritMonths(library.Releases);
        }
        if (library.AudienceAt(now) is null)
            library.Decide(Audience.Members, now);
        if (isFirst && library.Month is null && library.AudienceAt(now) == Audience.Members)
            library.Month = month;
        if (library.Month == month)
            return;
        // Whoever has the month has every later version too, also one that is out already.
        foreach (var later in library.Releases.Where(r => r.PublishedAt is not null && ReleaseNumbers.ByPrecedence.Compare(r.Number, release.Number) >= 0))
            later.AddMonths([month]);
    }

    private static SendDropOutcome.NotWhole NotWhole(Drop drop, IReadOnlyList<string> lacks) => new(
        $"The drop of {drop.Month.ToString("MMMM uuuu", CultureInfo.InvariantCulture)} was due and has not gone out. {string.Join(' ', lacks)} "
        + "Nothing of it is out, and nobody was written to. It goes out by itself once it is whole.");
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Upkeep;

/// <summary>Removes rows whose time is over and that nobody asks any more, as docs/privacy.md says table by table.</summary>
public sealed class SweepSpent(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>How long a link that ran out can still be told what became of it.</summary>
    public static readonly TimeSpan TicketsKept = TimeSpan.FromDays(30);

    /// <summary>A day longer than the daily look at the provider leaves them, which first asks whether they were paid after all.</summary>
    public static readonly TimeSpan JoiningsKept = TimeSpan.FromDays(31);

    /// <summary>A message that comes again is known by its name for so long; after that it would only be looked at once more.</summary>
    public static readonly TimeSpan MessagesKept = TimeSpan.FromDays(365);

    /// <summary>How far a work was that a kill ended and nobody began again; the longest work is done in less.</summary>
    public static readonly TimeSpan ProgressKept = TimeSpan.FromDays(7);

    /// <summary>Rows removed in one statement, so that no other writer waits long.</summary>
    internal int Batch { get; init; } = 5_000;

    /// <returns>How many rows went.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var (tickets, joinings, messages, deletions, progress) = (now - TicketsKept, now - JoiningsKept, now - MessagesKept, now - KeepDeletions.Kept, now - ProgressKept);
        return await db.SignInTickets.Where(t => t.ExpiresAt < tickets).ExecuteDeleteAsync(cancellationToken)
            + await db.LeaveTickets.Where(t => db.PaidMemberships.Any(m => m.Id == t.PaidMembershipId && m.EndedAt < tickets)).ExecuteDeleteAsync(cancellationToken)
            + await db.Joinings.Where(j => j.PaidAt == null && j.AgreedAt < joinings).ExecuteDeleteAsync(cancellationToken)
            + await db.PaymentEvents.Where(e => e.DoneAt < messages).ExecuteDeleteAsync(cancellationToken)
            + await db.Deletions.Where(d => d.At < deletions).ExecuteDeleteAsync(cancellationToken)
            + await db.WorkProgress.Where(p => p.At < progress).ExecuteDeleteAsync(cancellationToken)
            + await DropSightingsAsync(now.AddMonths(-settings.Value.Privacy.KeepEventsMonths), cancellationToken)
            + await DropEventsAsync(now.AddMonths(-settings.Value.Privacy.KeepEventsMonths), cancellationToken)
            + await new LetVisitorsGo(db).RunAsync(now.AddMonths(-settings.Value.Privacy.KeepEventsMonths), cancellationToken);
    }

    /// <summary>What people typed into the search and where they came from is nobody's, and still goes with the events; how links were answered are bare numbers.</summary>
    private async Task<int> DropSightingsAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // Of the shop's calendar, as the rows are.
        var day = Instant.FromDateTimeOffset(before).InZone(await MarkDays.ZoneAsync(db, cancellationToken)).Date;
        var gone = await db.Sightings.Where(s => s.Kind != SightingKind.Answer && s.Day < day).ExecuteDeleteAsync(cancellationToken);
        if (gone > 0)
            await SeenMonths.CutAsync(db, day, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return gone;
    }

    /// <summary>
    /// Once counted, and once their link can never open again, a download's events are asked for by nothing: the tally holds what they came to, and
    /// is added to only by new events, of which there are none. They were written in the order of time, so those behind the first portion in which none is old are
    /// not looked at; of a clock that was set back meanwhile, an old one behind it waits for those before it.
    /// </summary>
    private async Task<int> DropEventsAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var counted = await db.DownloadTallies.MaxAsync(t => (long?)t.LastEventId, cancellationToken) ?? 0;
        var (gone, after) = (0, 0L);
        while (true)
        {
            var some = await db.DownloadEvents.Where(e => e.Id > after && e.Id <= counted).OrderBy(e => e.Id).Select(e => new { e.Id, e.At }).Take(Batch).ToListAsync(cancellationToken);
            if (!some.Exists(e => e.At < before))
                return gone;
            (var first, after) = (some[0].Id, some[^1].Id);
            gone += await db.DownloadEvents.Where(e => e.Id >= first && e.Id <= after && e.At < before && db.Downloads.Any(d => d.Id == e.DownloadId && d.FinishBy < before))
                .ExecuteDeleteAsync(cancellationToken);
        }
    }
}

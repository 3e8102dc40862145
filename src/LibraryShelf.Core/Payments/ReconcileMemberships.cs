using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging;

namespace LibraryShelf.Core.Payments;

/// <param name="Mended">Memberships whose rights the messages had not brought up to date.</param>
/// <param name="Unread">Words for the maker about memberships whose looking at failed; the others were looked at all the same. Null: none.</param>
public sealed record Reconciled(int LookedAt, int Mended, bool IsSilent, string? Unread = null);

/// <summary>
/// Looks at every membership at the provider, each day; one whose payer never came back and whose messages were lost is among them. What differs from what stands
/// here is what the messages missed: it is mended by looking, and told to the maker. So is silence: payments without a single message mean
/// that the address for them is not set, or wrong.
/// </summary>
public sealed class ReconcileMemberships(ShelfDb db, IPayments payments, LookAgain lookAgain, RaiseAlert raise, SettleAlert settle, TimeProvider clock,
    ILogger<ReconcileMemberships> log)
{
    private const string Missed = "missed", Silent = "silent";

    /// <summary>A payment younger than this may have its message still on the way.</summary>
    private static readonly TimeSpan OnTheWay = TimeSpan.FromHours(1);
    private static readonly TimeSpan SilentFor = TimeSpan.FromDays(3);
    private static readonly TimeSpan JoiningIsLost = TimeSpan.FromDays(30);

    /// <exception cref="PaymentsUnreachableException">Nothing of what was looked at by then is lost; the next run begins anew.</exception>
    public async Task<Reconciled> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        if (!payments.IsOpen)
            return new(0, 0, false);
        var began = clock.GetUtcNow();
        var (looked, mended) = (0, 0);
        List<string> unread = [];
        await foreach (var id in payments.ListMembershipsAsync(cancellationToken))
        {
            try
            {
                mended += await IsMendedAsync(id, began, shelfAddress, cancellationToken) ? 1 : 0;
                looked++;
            }
            // One that can't be read must not keep the others from being looked at.
            catch (Exception fault) when (fault is not PaymentsUnreachableException && !cancellationToken.IsCancellationRequested)
            {
                log.LogError(fault, "The membership {Membership} could not be looked at", id);
                unread.Add(id);
            }
            db.ChangeTracker.Clear();
        }
        await db.Joinings.Where(j => j.PaidAt == null && j.AgreedAt < began - JoiningIsLost).ExecuteDeleteAsync(cancellationToken);
        var isSilent = await IsSilentAsync(began, cancellationToken);
        await TellAsync(mended, isSilent, cancellationToken);
        return new(looked, mended, isSilent, UnreadWords.Of(unread) is { } names
            ? T($"What the payment provider says of {names} could not be read in the daily look. It stands as it was last told, and all others were looked at. If this stays, whoever runs the server finds the reason in the shelf’s log.")
            : null);
    }

    private async Task<bool> IsMendedAsync(string id, DateTimeOffset began, string? shelfAddress, CancellationToken cancellationToken)
    {
        var before = await MarkAsync(id, began, cancellationToken);
        return await lookAgain.RunAsync(id, shelfAddress, cancellationToken) == LookOutcome.Kept && await MarkAsync(id, began, cancellationToken) != before;
    }

    /// <summary>
    /// What rights come of it, as one text; "" while nothing stands here. Only what a message has told or never will: the last hour's may be on the way, and a
    /// setting of ours changes no message.
    /// </summary>
    private async Task<string> MarkAsync(string providerId, DateTimeOffset began, CancellationToken cancellationToken)
    {
        var row = await db.PaidMemberships.AsNoTracking().SingleOrDefaultAsync(m => m.ProviderId == providerId, cancellationToken);
        var told = began - OnTheWay;
        if (row is null || row.StartedAt > told)
            return "";
        var paid = await db.Payments.Where(p => p.PaidMembershipId == row.Id && p.PaidAt <= told).OrderBy(p => p.Id)
            .Select(p => new { p.Id, p.TakenBackAt }).ToListAsync(cancellationToken);
        return $"{row.LeavesAt:O} {Told(row.EndedAt):O} {row.IsPaused} {string.Join(' ', paid.Select(p => $"{p.Id} {Told(p.TakenBackAt):O}"))}";

        DateTimeOffset? Told(DateTimeOffset? at) => at <= told ? at : null;
    }

    private async Task<bool> IsSilentAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        var newest = await db.Payments.Where(p => p.PaidAt > now - SilentFor && p.PaidAt < now - OnTheWay).MaxAsync(p => (DateTimeOffset?)p.PaidAt, cancellationToken);
        return newest is not null && !await db.PaymentEvents.AnyAsync(e => e.ReceivedAt > now - SilentFor, cancellationToken);
    }

    private async Task TellAsync(int mended, bool isSilent, CancellationToken cancellationToken)
    {
        if (mended > 0)
            await raise.RunAsync(AlertKind.PaymentsMissed, Missed,
                mended == 1
                ? T("The daily look at the payment provider found 1 membership that its messages had not told of, and set it right. Nobody lost anything. If it comes every day, look whether the address for messages is right at the provider.")
                : T($"The daily look at the payment provider found {mended} memberships that its messages had not told of, and set them right. Nobody lost anything. If it comes every day, look whether the address for messages is right at the provider."),
                cancellationToken);
        else
            await settle.RunAsync(AlertKind.PaymentsMissed, Missed, cancellationToken);
        if (isSilent)
            await raise.RunAsync(AlertKind.PaymentsMissed, Silent,
                T("Members have paid in the last three days, but the payment provider has sent no message. The daily look keeps memberships right, a day late. At the provider, set the address for messages to this shelf’s address with /hooks/payments at its end."),
                cancellationToken);
        else
            await settle.RunAsync(AlertKind.PaymentsMissed, Silent, cancellationToken);
    }
}

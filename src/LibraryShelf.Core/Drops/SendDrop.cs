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

    /// <summary>It is due and whole, and waits for the maker's word (<see cref="Drop.AsksSince"/>): nothing of it went out. <paramref name="Words"/> as above.</summary>
    public sealed record Asks(string Words) : SendDropOutcome;

    /// <summary>Its hour has not come, or it went out before, or was called off, or there is none: nothing was done.</summary>
    public sealed record NotNow : SendDropOutcome;

    /// <summary>Nothing goes out until the maker says that this is the one shelf (<see cref="Shop.HeldSince"/>).</summary>
    public sealed record Held : SendDropOutcome;
}

/// <summary>
/// Sends a month's drop that is due: in one transaction its versions come to the shelf, the month's rights exist, and a mail to each whose it is stands in the
/// outbox, or none of it. Two that send at once: the second finds it sent. One that lacked something at its hour never goes by itself: once it is whole it asks.
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
        var before = (drop.Trouble, drop.AsksSince, drop.IsAskingForClock);
        var outcome = drop.State == DropState.Planned && drop.DueAt <= now
            ? await SendAsync(drop, shelfAddress, now, cancellationToken)
            : new SendDropOutcome.NotNow();
        var (trouble, asks) = Standing(outcome, before, now);
        if (trouble is not null)
            // What was moved in memory on the way to finding out is not written.
            db.ChangeTracker.Clear();
        await db.Drops.Where(d => d.Id == dropId && (d.Trouble != trouble || d.AsksSince != asks))
            .ExecuteUpdateAsync(s => s.SetProperty(d => d.Trouble, trouble).SetProperty(d => d.AsksSince, asks), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    /// <summary>What stands on the drop from now on. It asks from when it was found wanting, and from when it was found whole after that.</summary>
    private static (string? Trouble, DateTimeOffset? Asks) Standing(SendDropOutcome outcome, (string? Trouble, DateTimeOffset? Asks, bool IsForClock) before, DateTimeOffset now) => outcome switch
    {
        SendDropOutcome.NotWhole notWhole => (notWhole.Words, before.IsForClock ? now : before.Asks ?? now),
        SendDropOutcome.Asks asks => (asks.Words, before.Trouble is null || before.Trouble == asks.Words ? before.Asks : now),
        // Moved, called off or out; or the clock that made it ask was put back.
        _ => (null, null),
    };

    /// <summary>
    /// A drop goes out once a month, so what it asks is no longer, or not yet, worked out in memory, and working it out takes longer than asking. So all of it is asked
    /// once before anybody is kept from writing; what is answered is not used.
    /// </summary>
    private async Task WarmUpAsync(long dropId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await BringDropOut.WarmUpAsync(db, dropId, now, cancellationToken);
        if (await db.Drops.Where(d => d.Id == dropId).Select(d => (YearMonth?)d.Month).SingleOrDefaultAsync(cancellationToken) is { } month)
            await DropMails.WarmUpAsync(db, month, now, cancellationToken);
        db.ChangeTracker.Clear();
    }

    private async Task<SendDropOutcome> SendAsync(Drop drop, string? shelfAddress, DateTimeOffset now, CancellationToken cancellationToken)
    {
        // Bringing it out ends this, in memory.
        var isAsking = drop.AsksSince is not null;
        var (published, lacks) = await BringDropOut.RunAsync(db, drop, shelfAddress, now, now, cancellationToken);
        if (lacks.Count > 0)
            return new SendDropOutcome.NotWhole(
                T($"The drop of {drop.MonthName} was due and has not gone out. {string.Join(' ', lacks)} Nothing of it is out, and nobody was written to. Once it is whole, its page asks you whether it is to go out."));
        if (isAsking)
            return new SendDropOutcome.Asks(
                T($"The drop of {drop.MonthName} is whole, and its hour is past. Nothing of it is out, and nobody was written to: it does not go out by itself any more. Open its page, and send it or give it another hour."));
        await db.SaveChangesAsync(cancellationToken);
        return new SendDropOutcome.Sent(
            published, await DropMails.WriteAsync(db, drop, now, TimeSpan.FromHours(settings.Value.Mail.SpreadHours), cancellationToken));
    }
}

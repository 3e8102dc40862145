using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

public abstract record MergeOutcome
{
    private MergeOutcome() { }

    /// <summary>One account now; both addresses sign in there, and each has its mail.</summary>
    public sealed record Merged(long PersonId, string Email) : MergeOutcome;

    /// <summary>Nothing was written.</summary>
    public sealed record Refused(MergeRefusal Why) : MergeOutcome;
}

/// <summary>
/// Makes two accounts of one person one: everything of the one moves to the other, in one transaction. Months are worked out anew over both
/// payments, so a month paid twice becomes the next that is free. There is no way back: whose row was whose is not kept.
/// </summary>
public sealed class MergePeople(ShelfDb db, TimeProvider clock)
{
    /// <param name="stays">The address of the account that goes on, as typed.</param>
    /// <param name="joins">The address of the one whose things move there, as typed.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public Task<MergeOutcome> RunAsync(string? stays, string? joins, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        return FreshEyes.LookAsync(db, () => MergeAsync(stays, joins, cancellationToken), FreshEyes.Never<MergeOutcome>);
    }

    private async Task<MergeOutcome> MergeAsync(string? staysTyped, string? joinsTyped, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var (stays, joins, refusal) = await MergePair.FindAsync(db, staysTyped, joinsTyped, cancellationToken);
        if (refusal is { } why)
            return new MergeOutcome.Refused(why);
        await new MergedRows(db, stays!.Id, joins!.Id, now).MoveAsync(cancellationToken);
        stays.CreatedAt = stays.CreatedAt < joins.CreatedAt ? stays.CreatedAt : joins.CreatedAt;
        joins.MergedIntoId = stays.Id;
        joins.PasswordHash = null;
        await People.EndSignInsAsync(db, joins, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var payments = await db.Payments.AsNoTracking().Where(p => p.PersonId == stays.Id).ToListAsync(cancellationToken);
        await KeepPaidMonths.WriteAsync(db, stays.Id, payments.Select(p => p.Fact()), ReadShop.ZoneOf(shop?.TimeZone ?? ""), cancellationToken);
        Tell(shop, stays, joins, now);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new MergeOutcome.Merged(stays.Id, stays.Email ?? "");
    }

    private void Tell(Shop? shop, Person stays, Person joins, DateTimeOffset now)
    {
        var (subject, text) = PersonMails.Merged(shop, stays.Email!, joins.Email!);
        db.Outbox.AddRange(new[] { stays, joins }.Select(to =>
            new OutboxMail { Cause = $"merged:{joins.Id}:{to.Id}", To = to.Email!, Subject = subject, Text = text, CreatedAt = now }));
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>What asking for another address came to. None of these tells whether the shelf knows the new one.</summary>
public enum AskAddressOutcome
{
    /// <summary>The wish and its two mails stand in the database; an earlier wish that waited has ended.</summary>
    MailsOnTheirWay,
    NotAnAddress,
    /// <summary>It is the one they have.</summary>
    Same,
    /// <summary>Asked for too often; nothing was written and the links already sent still work.</summary>
    TooOften,
    /// <summary>The person was deleted or merged meanwhile; nothing was written.</summary>
    NotThere,
}

/// <summary>
/// Somebody wants another address: each of the two mailboxes is mailed a link of its own, and nothing changes until both have said yes
/// (<see cref="ConfirmAddress"/>). Where the new address is another person's, its mail says so instead; the one who asks is told nothing.
/// </summary>
public sealed class AskForAddress(ShelfDb db, TimeProvider clock)
{
    /// <summary>How long both have time.</summary>
    public static readonly TimeSpan Works = TimeSpan.FromHours(24);

    /// <summary>Wishes of one person, or for one new address, in <see cref="CountedOver"/>.</summary>
    public const int MostAsks = 5;

    public static readonly TimeSpan CountedOver = TimeSpan.FromHours(1);

    /// <param name="typedEmail">The new address, as typed.</param>
    /// <param name="shelfAddress">Without a slash at its end; null when none is sure: the mails then name the page's path alone.</param>
    public async Task<AskAddressOutcome> RunAsync(long personId, string? typedEmail, string? shelfAddress, CancellationToken cancellationToken)
    {
        if (EmailAddress.Tidy(typedEmail) is not { } email)
            return AskAddressOutcome.NotAnAddress;
        var (now, normalized) = (clock.GetUtcNow(), EmailAddress.Normalize(email));
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        // Deleted or merged in another window, within the minute in which this cookie is still good: nobody to write to.
        if (await db.Users.SingleOrDefaultAsync(p => p.Id == personId && p.Email != null && p.MergedIntoId == null, cancellationToken) is not { } person)
            return AskAddressOutcome.NotThere;
        if (person.NormalizedEmail == normalized)
            return AskAddressOutcome.Same;
        if (await IsTooOftenAsync(personId, normalized, now, cancellationToken))
            return AskAddressOutcome.TooOften;
        await EndWaitingAsync(db, personId, now, cancellationToken);
        var (oldToken, newToken) = (Secrets.NewToken(), Secrets.NewToken());
        var change = new AddressChange
        {
            PersonId = personId, OldEmail = person.Email!, NewEmail = email, NormalizedNewEmail = normalized,
            OldTokenHash = Secrets.Hash(oldToken), NewTokenHash = Secrets.Hash(newToken), AskedAt = now, ExpiresAt = now + Works,
        };
        db.AddressChanges.Add(change);
        await db.SaveChangesAsync(cancellationToken);
        await WriteMailsAsync(change, Page(shelfAddress, oldToken), Page(shelfAddress, newToken), MailPlaces.Mine(shelfAddress), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return AskAddressOutcome.MailsOnTheirWay;
    }

    /// <summary>Inside the caller's transaction: no wish of this person's waits any more. The caller saves.</summary>
    internal static async Task EndWaitingAsync(ShelfDb db, long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var waiting in await db.AddressChanges.Where(c => c.PersonId == personId && c.EndedAt == null).ToListAsync(cancellationToken))
            waiting.EndedAt = now;
    }

    private async Task<bool> IsTooOftenAsync(long personId, string normalized, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var lately = db.AddressChanges.Where(c => c.AskedAt > now - CountedOver);
        return await lately.CountAsync(c => c.PersonId == personId, cancellationToken) >= MostAsks
            || await lately.CountAsync(c => c.NormalizedNewEmail == normalized, cancellationToken) >= MostAsks;
    }

    private async Task WriteMailsAsync(AddressChange change, string oldPage, string newPage, string mine, CancellationToken cancellationToken)
    {
        var desk = await MailDesk.OpenAsync(db, null, change.AskedAt, cancellationToken);
        var other = await db.Users.AsNoTracking().FirstOrDefaultAsync(
            p => p.NormalizedEmail == change.NormalizedNewEmail || p.NormalizedUserName == change.NormalizedNewEmail, cancellationToken);
        var toNew = other is null ? AddressMail.AskNew(desk.Shop, newPage)
            : other.MergedIntoId == change.PersonId ? AddressMail.IsYoursAlready(desk.Shop)
            : AddressMail.IsAnothers(desk.Shop);
        var toOld = AddressMail.AskOld(desk.Shop, oldPage, change.NewEmail, mine);
        await desk.WriteAsync(
            [
                new($"{AddressMail.Cause}{change.Id}:old", change.OldEmail, toOld.Subject, toOld.Text),
                new($"{AddressMail.Cause}{change.Id}:new", change.NewEmail, toNew.Subject, toNew.Text),
            ], cancellationToken);
    }

    private static string Page(string? shelfAddress, string token) => shelfAddress is null
        ? T($"On the shelf, put this behind its address in the browser: /address/{token}")
        : $"{shelfAddress}/address/{token}";
}

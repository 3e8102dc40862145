using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>What became of a membership given by hand.</summary>
public enum GrantOutcome
{
    /// <summary>The membership and its welcome mail stand in the database.</summary>
    Granted,
    /// <summary>The person has such a membership until then, or longer; nothing was written.</summary>
    AlreadyMember,
    /// <summary>That is no e-mail address; nothing was written.</summary>
    BadAddress,
    /// <summary>The end is not after now; nothing was written.</summary>
    EndsBeforeItStarts,
}

/// <summary>
/// Makes someone a member by the maker's hand, from now, and writes the welcome mail with it. A person the shelf does not know
/// yet is added by the address.
/// </summary>
public sealed class GrantMembership(ShelfDb db, TimeProvider clock)
{
    private const int LongestNote = 500;

    /// <param name="email">As typed; compared without regard to case.</param>
    /// <param name="note">For the maker's own memory; cut at 500 characters.</param>
    /// <param name="lastDay">The last day of it, in the shop's time zone; null: until she ends it.</param>
    /// <param name="shelfAddress">For the mail, without a slash at its end; null: the mail names no address.</param>
    public Task<GrantOutcome> RunAsync(
        string? email, string? note, DateOnly? lastDay, string? shelfAddress, CancellationToken cancellationToken) =>
        // Someone new may be added by a sign-in at this very moment; looked at again, the person is known.
        FreshEyes.LookAsync(db, () => GrantAsync(email, note, lastDay, shelfAddress, cancellationToken), FreshEyes.Never<GrantOutcome>);

    private async Task<GrantOutcome> GrantAsync(
        string? email, string? note, DateOnly? lastDay, string? shelfAddress, CancellationToken cancellationToken)
    {
        if (EmailAddress.Tidy(email) is not { } address)
            return GrantOutcome.BadAddress;
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var until = EndOf(lastDay, shop);
        if (until <= now)
            return GrantOutcome.EndsBeforeItStarts;

        // One transaction that holds the writer from its first read, so that two presses make one grant.
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var person = await People.FindOrAddAsync(db, address, now, cancellationToken);
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == person.Id).ToListAsync(cancellationToken);
        if (grants.Exists(g => g.IsActiveAt(now) && (g.Until is null || g.Until >= until)))
            return GrantOutcome.AlreadyMember;
        var said = note?.Trim() ?? "";
        var grant = new MembershipGrant { PersonId = person.Id, From = now, Until = until, Note = ShortText.Of(said, LongestNote) };
        db.MembershipGrants.Add(grant);
        await db.SaveChangesAsync(cancellationToken);
        var (subject, text) = WelcomeMail.Write(shop, lastDay, shelfAddress);
        db.Outbox.Add(new OutboxMail { Cause = $"welcome:{grant.Id}", To = person.Email!, Subject = subject, Text = text, CreatedAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return GrantOutcome.Granted;
    }

    /// <summary>The first instant after the day, by the shop's clock.</summary>
    private static DateTimeOffset? EndOf(DateOnly? lastDay, Shop? shop) => lastDay is { } day && day < DateOnly.MaxValue
        ? ReadShop.ZoneOf(shop?.TimeZone ?? "").AtStartOfDay(LocalDate.FromDateOnly(day).PlusDays(1)).ToDateTimeOffset()
        : null;
}

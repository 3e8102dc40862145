using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>What the asking came to. None of these tells whether the address follows already.</summary>
public enum FollowOutcome
{
    /// <summary>The mail with the link stands in the outbox.</summary>
    MailOnItsWay,
    /// <summary>Of somebody signed in, whose address is proved: they follow it now.</summary>
    Follows,
    NotAnAddress,
    /// <summary>This address was typed for too many libraries in <see cref="FollowLibrary.CountedOver"/>; nothing was written.</summary>
    TooOften,
    /// <summary>There is no such library on the shelf.</summary>
    NotOnTheShelf,
    /// <summary>The shelf is not sure of its own address, so no link can be mailed.</summary>
    NoPlace,
}

/// <summary>An address wants to hear of a library's new versions: it is mailed a link, and followed by it alone.</summary>
public sealed class FollowLibrary(ShelfDb db, TimeProvider clock)
{
    /// <summary>Libraries that one address may be typed for in <see cref="CountedOver"/>.</summary>
    public const int MostAsks = 5;

    public static readonly TimeSpan CountedOver = TimeSpan.FromHours(1);

    /// <summary>Asked again so soon, the mail is still on its way.</summary>
    private static readonly TimeSpan OnItsWay = TimeSpan.FromMinutes(10);

    /// <param name="slug">The library's.</param>
    /// <param name="typedEmail">As typed; of no account when somebody is signed in.</param>
    /// <param name="personId">Who is signed in; null: nobody.</param>
    /// <param name="shelfAddress">Without a slash at its end; null: not sure.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<FollowOutcome> RunAsync(string slug, string? typedEmail, long? personId, string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var library = await db.Libraries.AsNoTracking().SingleOrDefaultAsync(l => l.Slug == slug && l.Releases.Any(r => r.State == ReleaseState.Published), cancellationToken);
        if (library is null)
            return FollowOutcome.NotOnTheShelf;
        var person = personId is { } id ? await People.FindAsync(db, id, cancellationToken) : null;
        var outcome = person?.Email is { } theirs ? await FollowAsync(library, theirs, cancellationToken)
            : EmailAddress.Tidy(typedEmail) is not { } email ? FollowOutcome.NotAnAddress
            : shelfAddress is null ? FollowOutcome.NoPlace
            : await AskAsync(library, email, shelfAddress, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    private async Task<FollowOutcome> FollowAsync(Library library, string email, CancellationToken cancellationToken)
    {
        var row = await FindAsync(library, email, cancellationToken) ?? Add(library, email);
        row.ConfirmedAt ??= clock.GetUtcNow();
        return FollowOutcome.Follows;
    }

    private async Task<FollowOutcome> AskAsync(Library library, string email, string shelfAddress, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var row = await FindAsync(library, email, cancellationToken);
        if (row?.AskedAt > now - OnItsWay)
            return FollowOutcome.MailOnItsWay;
        var normalized = EmailAddress.Normalize(email);
        if (await db.Followers.CountAsync(f => f.NormalizedEmail == normalized && f.AskedAt > now - CountedOver, cancellationToken) >= MostAsks)
            return FollowOutcome.TooOften;
        row ??= Add(library, email);
        row.AskedAt = now;
        await db.SaveChangesAsync(cancellationToken);
        var (subject, text) = FollowMail.Write(
            library, $"{shelfAddress}/follow/{row.Key}", row.ConfirmedAt is not null, await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken));
        db.Outbox.Add(new OutboxMail
        {
            Cause = string.Create(CultureInfo.InvariantCulture, $"following:{row.Id}:{now.ToUnixTimeMilliseconds()}"), To = row.Email, Subject = subject, Text = text, CreatedAt = now,
        });
        return FollowOutcome.MailOnItsWay;
    }

    private Task<Follower?> FindAsync(Library library, string email, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(email);
        return db.Followers.SingleOrDefaultAsync(f => f.LibraryId == library.Id && f.NormalizedEmail == normalized, cancellationToken);
    }

    private Follower Add(Library library, string email)
    {
        var row = new Follower { LibraryId = library.Id, Email = email, NormalizedEmail = EmailAddress.Normalize(email), Key = Secrets.NewKey(), AskedAt = clock.GetUtcNow() };
        db.Followers.Add(row);
        return row;
    }
}

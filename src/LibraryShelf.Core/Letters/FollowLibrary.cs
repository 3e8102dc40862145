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
    /// <summary>The mail with the link stands in the outbox, went not long ago, or is wanted by nobody there.</summary>
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

    /// <summary>What the causes of these mails begin with; the library's number, the follower's and a time follow.</summary>
    private const string Cause = "following:";

    public static readonly TimeSpan CountedOver = TimeSpan.FromHours(1);

    /// <summary>So often an address is asked about one library, whoever types it, also after its no: who never asked is not to be written to over and over.</summary>
    public static readonly TimeSpan AskedOnceIn = TimeSpan.FromDays(1);

    /// <param name="slug">The library's.</param>
    /// <param name="typedEmail">As typed; of no account when somebody is signed in. Who paid is signed in without the address being proved: it is asked like any other.</param>
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
        var outcome = person is { EmailConfirmed: true, Email: { } theirs } ? await FollowAsync(library, theirs, cancellationToken)
            : (person?.Email ?? EmailAddress.Tidy(typedEmail)) is not { } email ? FollowOutcome.NotAnAddress
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
        string[] normalized = [EmailAddress.Normalize(email)];
        var receiver = await Receiver.OfAsync(db, email, cancellationToken);
        if (MaySend.Decide(MailKind.Follow, await receiver.IsRefusedAsync(db, MailKind.Follow, cancellationToken), await receiver.IsSuppressedAsync(db, cancellationToken), isHeld: false) != MaySendWhy.Yes)
            return FollowOutcome.MailOnItsWay;
        // What was mailed counts, not the rows of those who follow: a no takes its row away, and must not let the next mail through.
        var asks = db.Outbox.Where(m => m.Cause.StartsWith(Cause) && (m.To == email || normalized.Contains(m.To.ToUpper())));
        var about = $"{Cause}{library.Id}:";
        if (await asks.AnyAsync(m => m.Cause.StartsWith(about) && m.CreatedAt > now - AskedOnceIn, cancellationToken))
            return FollowOutcome.MailOnItsWay;
        if (await asks.CountAsync(m => m.CreatedAt > now - CountedOver, cancellationToken) >= MostAsks)
            return FollowOutcome.TooOften;
        var row = await FindAsync(library, email, cancellationToken) ?? Add(library, email);
        row.AskedAt = now;
        await db.SaveChangesAsync(cancellationToken);
        var (subject, text) = FollowMail.Write(
            library, $"{shelfAddress}/follow/{row.Key}", row.ConfirmedAt is not null, await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken));
        db.Outbox.Add(new OutboxMail
        {
            Cause = string.Create(CultureInfo.InvariantCulture, $"{about}{row.Id}:{now.ToUnixTimeMilliseconds()}"), To = email, Subject = subject, Text = text, CreatedAt = now,
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

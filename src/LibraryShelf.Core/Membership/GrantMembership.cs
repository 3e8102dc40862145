using System.Net.Mail;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>What became of a membership given by hand.</summary>
public enum GrantOutcome
{
    Granted,
    /// <summary>The person is a member now, without an end date; nothing was written.</summary>
    AlreadyMember,
    /// <summary>That is no e-mail address; nothing was written.</summary>
    BadAddress,
    /// <summary>The end is not after now; nothing was written.</summary>
    EndsBeforeItStarts,
}

/// <summary>Makes someone a member by the maker's hand. A person the shelf does not know yet is added by the address.</summary>
public sealed class GrantMembership(ShelfDb db, TimeProvider clock)
{
    private const int LongestAddress = 254; // RFC 5321 §4.5.3.1.3: a path of 256 octets with its angle brackets

    /// <param name="email">As typed; compared without regard to case.</param>
    /// <param name="note">For the maker's own memory.</param>
    /// <param name="until">Exclusive end; null: until she ends it.</param>
    public async Task<GrantOutcome> RunAsync(string email, string note, DateTimeOffset? until, CancellationToken cancellationToken)
    {
        var address = email.Trim();
        if (address.Length > LongestAddress || !MailAddress.TryCreate(address, out var parsed) || parsed.Address != address)
            return GrantOutcome.BadAddress;
        var now = clock.GetUtcNow();
        if (until <= now) return GrantOutcome.EndsBeforeItStarts;

        // One transaction that holds the writer from its first read, so that two presses make one grant.
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var person = await FindOrAddAsync(address, now, cancellationToken);
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == person.Id).ToListAsync(cancellationToken);
        if (grants.Exists(g => g.IsActiveAt(now) && g.Until is null)) return GrantOutcome.AlreadyMember;
        db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = now, Until = until, Note = note.Trim() });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return GrantOutcome.Granted;
    }

    private async Task<Person> FindOrAddAsync(string address, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var normalized = address.ToUpperInvariant();
        var person = await db.Users.FirstOrDefaultAsync(p => p.NormalizedEmail == normalized, cancellationToken);
        if (person is not null) return person;
        person = new Person
        {
            Email = address, NormalizedEmail = normalized, UserName = address, NormalizedUserName = normalized,
            SecurityStamp = Guid.NewGuid().ToString("N"), CreatedAt = now,
        };
        db.Users.Add(person);
        await db.SaveChangesAsync(cancellationToken);
        return person;
    }
}

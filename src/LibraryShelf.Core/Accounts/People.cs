using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>The one place that makes rows of people.</summary>
internal static class People
{
    public static Person New(string email, DateTimeOffset now)
    {
        var normalized = EmailAddress.Normalize(email);
        return new Person
        {
            Email = email,
            NormalizedEmail = normalized,
            UserName = email,
            NormalizedUserName = normalized,
            SecurityStamp = Secrets.NewToken(),
            LockoutEnabled = true,
            CreatedAt = now,
        };
    }

    /// <summary>The stamp in every cookie of hers is no longer hers, and the lock after wrong passwords is off. The caller saves.</summary>
    public static void EndSignIns(Person person)
    {
        person.SecurityStamp = Secrets.NewToken();
        person.ConcurrencyStamp = Secrets.NewToken();
        person.AccessFailedCount = 0;
        person.LockoutEnd = null;
    }

    /// <summary>Inside the caller's transaction: the person with this address, added when the shelf does not know it yet.</summary>
    public static async Task<Person> FindOrAddAsync(ShelfDb db, string email, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(email);
        var person = await db.Users.FirstOrDefaultAsync(p => p.NormalizedEmail == normalized, cancellationToken);
        if (person is not null)
            return person;
        person = New(email, now);
        db.Users.Add(person);
        await db.SaveChangesAsync(cancellationToken);
        return person;
    }
}

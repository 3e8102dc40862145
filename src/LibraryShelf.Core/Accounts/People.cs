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

    /// <summary>
    /// The stamp in every cookie of this person's is no longer theirs, all their devices have ended, and the lock after wrong passwords is off. The
    /// caller saves.
    /// </summary>
    public static async Task EndSignInsAsync(ShelfDb db, Person person, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await EndDevicesAsync(db, person.Id, now, cancellationToken);
        person.SecurityStamp = Secrets.NewToken();
        person.ConcurrencyStamp = Secrets.NewToken();
        person.AccessFailedCount = 0;
        person.LockoutEnd = null;
    }

    /// <summary>All devices of this person have ended. The caller saves.</summary>
    public static async Task EndDevicesAsync(ShelfDb db, long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var device in await db.Devices.Where(d => d.PersonId == personId && d.EndedAt == null).ToListAsync(cancellationToken))
            device.EndedAt = now;
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

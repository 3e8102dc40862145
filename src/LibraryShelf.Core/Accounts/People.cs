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
        EndCookies(person);
    }

    /// <summary>All devices of this person have ended. The caller saves.</summary>
    public static async Task EndDevicesAsync(ShelfDb db, long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        foreach (var device in await db.Devices.Where(d => d.PersonId == personId && d.EndedAt == null).ToListAsync(cancellationToken))
            device.EndedAt = now;
    }

    private static void EndCookies(Person person)
    {
        person.SecurityStamp = Secrets.NewToken();
        person.ConcurrencyStamp = Secrets.NewToken();
        person.AccessFailedCount = 0;
        person.LockoutEnd = null;
    }

    /// <summary>Nothing in the row tells any more who it was; it stands for the payments under it. Cookies are refused. The caller saves.</summary>
    public static void Empty(Person person, DateTimeOffset now)
    {
        EndCookies(person);
        (person.Email, person.NormalizedEmail, person.EmailConfirmed) = (null, null, false);
        // The name is unique, and a row needs one.
        (person.UserName, person.NormalizedUserName) = ($"deleted-{person.Id}", $"DELETED-{person.Id}");
        (person.PasswordHash, person.PhoneNumber, person.PhoneNumberConfirmed) = (null, null, false);
        (person.VisitedAt, person.VisitedBefore, person.LetterKey, person.DeletedAt) = (null, null, null, now);
    }

    /// <summary>
    /// Inside the caller's transaction: a row for payments of somebody deleted at that instant of whom this database holds none, as
    /// <see cref="Empty"/> leaves one.
    /// </summary>
    public static async Task<Person> AddNamelessAsync(ShelfDb db, DateTimeOffset deletedAt, CancellationToken cancellationToken)
    {
        // Its lasting name is made of its number, which it has only once it stands.
        var passing = Secrets.NewToken();
        var person = new Person { UserName = passing, NormalizedUserName = passing, LockoutEnabled = true, CreatedAt = deletedAt };
        db.Users.Add(person);
        await db.SaveChangesAsync(cancellationToken);
        Empty(person, deletedAt);
        await db.SaveChangesAsync(cancellationToken);
        return person;
    }

    /// <summary>The person of this row, or the one it was merged into. Null: deleted, or there is none.</summary>
    public static async Task<Person?> FindAsync(ShelfDb db, long id, CancellationToken cancellationToken)
    {
        var person = await db.Users.SingleOrDefaultAsync(p => p.Id == id && p.DeletedAt == null, cancellationToken);
        return person?.MergedIntoId is { } stays ? await db.Users.SingleAsync(p => p.Id == stays, cancellationToken) : person;
    }

    /// <summary>
    /// Inside the caller's transaction: the person with this address, added when the shelf does not know it yet. An address merged into another
    /// account is that account's.
    /// </summary>
    public static async Task<Person> FindOrAddAsync(ShelfDb db, string email, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var normalized = EmailAddress.Normalize(email);
        var person = await db.Users.FirstOrDefaultAsync(p => p.NormalizedEmail == normalized, cancellationToken);
        if (person?.MergedIntoId is { } stays)
            return await db.Users.SingleAsync(p => p.Id == stays, cancellationToken);
        if (person is not null)
            return person;
        person = New(email, now);
        db.Users.Add(person);
        await db.SaveChangesAsync(cancellationToken);
        return person;
    }
}

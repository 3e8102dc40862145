using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Accounts;

/// <summary>Rows of people as signing in leaves them.</summary>
internal static class TestPeople
{
    public static async Task<Person> FindOrAddAsync(ShelfDb db, string email, DateTimeOffset now)
    {
        var upper = email.ToUpperInvariant();
        if (await db.Users.FirstOrDefaultAsync(p => p.NormalizedEmail == upper) is { } known)
            return known;
        var person = new Person { Email = email, NormalizedEmail = upper, UserName = email, NormalizedUserName = upper, CreatedAt = now };
        db.Users.Add(person);
        await db.SaveChangesAsync();
        return person;
    }
}

using LibraryShelf.Core.Accounts;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What stands behind the doors at which an account goes, or becomes one with another.</summary>
internal sealed class PersonThings(DoorWorld world)
{
    /// <summary>The mailed link's token with which somebody who never paid deletes themselves.</summary>
    public async Task<string> DeleteTokenAsync()
    {
        var (token, email) = ($"delete-{world.Next()}", Stranger());
        await world.Host.PersonAsync(email);
        var now = world.Host.Clock!.GetUtcNow();
        await world.Host.WithDbAsync(db =>
        {
            db.SignInTickets.Add(new()
            {
                Purpose = SignInPurpose.DeleteMe, Email = email, NormalizedEmail = email.ToUpperInvariant(), TokenHash = Sha256(token), CreatedAt = now, ExpiresAt = now.AddDays(1),
            });
            return db.SaveChangesAsync();
        });
        return token;
    }

    /// <summary>The form's fields that name two accounts which may become one.</summary>
    public async Task<IReadOnlyList<KeyValuePair<string, string>>> TwoPeopleAsync()
    {
        var (stays, joins) = (Stranger(), Stranger());
        await world.Host.PersonAsync(stays);
        await world.Host.PersonAsync(joins);
        return [new("Stays", stays), new("Joins", joins)];
    }

    private string Stranger() => $"stranger-{world.Next()}@post.example";

    private static string Sha256(string text) =>
        Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(System.Text.Encoding.UTF8.GetBytes(text)));
}

using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record ChangePasswordOutcome
{
    private ChangePasswordOutcome() { }

    /// <summary>Every other sign-in of hers ends within a minute: the stamp in their cookies is no longer hers.</summary>
    public sealed record Changed(Person Maker) : ChangePasswordOutcome;

    /// <summary>Too short or too long; nothing was written.</summary>
    public sealed record Refused : ChangePasswordOutcome;
}

/// <summary>
/// The signed-in maker chooses a new password. The old one is not asked for: whoever reads the maker's mail may sign in anyway,
/// and this is how a forgotten one is replaced.
/// </summary>
public sealed class ChangePassword(ShelfDb db, TimeProvider clock, IPasswordHasher<Person> passwords)
{
    public async Task<ChangePasswordOutcome> RunAsync(long makerId, string? password, CancellationToken cancellationToken)
    {
        if (password is not { Length: >= ClaimShelf.ShortestPassword and <= ClaimShelf.LongestPassword })
            return new ChangePasswordOutcome.Refused();
        var maker = await db.Users.FirstAsync(p => p.Id == makerId && p.IsMaker, cancellationToken);
        maker.PasswordHash = passwords.HashPassword(maker, password);
        await People.EndSignInsAsync(db, maker, clock.GetUtcNow(), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        return new ChangePasswordOutcome.Changed(maker);
    }
}

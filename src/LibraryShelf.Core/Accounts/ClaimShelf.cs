using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

public abstract record ClaimOutcome
{
    private ClaimOutcome() { }

    /// <summary>Shop and maker stand; the link is used up.</summary>
    public sealed record Claimed(Person Maker) : ClaimOutcome;

    /// <summary>Nothing was written; the link still works.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Troubles) : ClaimOutcome;

    /// <summary>Nothing was written.</summary>
    public sealed record LinkRefused(TicketState State) : ClaimOutcome;
}

/// <summary>The maker takes over an empty shelf: the shop, herself and the used link in one transaction.</summary>
public sealed class ClaimShelf(ShelfDb db, TimeProvider clock, IPasswordHasher<Person> passwords)
{
    /// <summary>Characters.</summary>
    public const int ShortestPassword = 12;

    /// <summary>Characters; hashing cost must not be in a stranger's hands.</summary>
    public const int LongestPassword = 200;

    public async Task<ClaimOutcome> RunAsync(
        string token, ShopForm form, string? typedEmail, string password, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var hash = Secrets.Hash(token);
        var ticket = await db.SignInTickets.AsNoTracking().FirstOrDefaultAsync(
            t => t.TokenHash == hash && t.Purpose == SignInPurpose.ClaimShelf, cancellationToken);
        var state = ticket?.StateAt(now) ?? TicketState.Unknown;
        if (state != TicketState.Open)
            return new ClaimOutcome.LinkRefused(state);
        var email = EmailAddress.Tidy(typedEmail);
        if (Troubles(form, email, password) is { Count: > 0 } troubles)
            return new ClaimOutcome.Refused(troubles);
        // Hashed before the transaction begins: it takes longer than SQLite's one writer may be held.
        var passwordHash = passwords.HashPassword(new Person(), password);
        // Two links used at once both write the one shop: the later finds the shelf claimed on looking again.
        return await FreshEyes.LookAsync(
            db, () => ClaimAsync(hash, form, email!, passwordHash, now, cancellationToken), () => new ClaimOutcome.LinkRefused(TicketState.Used));
    }

    private async Task<ClaimOutcome> ClaimAsync(
        string hash, ShopForm form, string email, string passwordHash, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (!await UseUpAsync(hash, now, cancellationToken))
            return new ClaimOutcome.LinkRefused(TicketState.Used);
        var maker = await AddMakerAsync(email, passwordHash, now, cancellationToken);
        await SetUpShopAsync(form, now, cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new ClaimOutcome.Claimed(maker);
    }

    private static List<Refusal> Troubles(ShopForm form, string? email, string password)
    {
        var troubles = form.Troubles().ToList();
        if (email is null)
            troubles.Add(new("Email", T("That is no e-mail address. It looks like wren@post.example.")));
        if (password.Length is < ShortestPassword or > LongestPassword)
            troubles.Add(new("Password", T($"The password needs {ShortestPassword} characters or more, {LongestPassword} at most.")));
        return troubles;
    }

    private async Task<bool> UseUpAsync(string hash, DateTimeOffset now, CancellationToken cancellationToken) =>
        await db.SignInTickets.Where(t => t.TokenHash == hash && t.UsedAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(t => t.UsedAt, now), cancellationToken) == 1
        && !await db.Users.AnyAsync(p => p.IsMaker, cancellationToken);

    private async Task<Person> AddMakerAsync(string email, string passwordHash, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var maker = await People.FindOrAddAsync(db, email, now, cancellationToken);
        maker.IsMaker = true;
        await People.EndSignInsAsync(db, maker, now, cancellationToken);
        maker.PasswordHash = passwordHash;
        return maker;
    }

    private async Task SetUpShopAsync(ShopForm form, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.SingleOrDefaultAsync(cancellationToken);
        if (shop is null)
            db.Shops.Add(shop = new Shop());
        form.CopyTo(shop);
        shop.ClaimedAt = now;
        shop.Revision++;
        await db.SaveChangesAsync(cancellationToken);
    }
}

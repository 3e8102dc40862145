using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

public abstract record FinishOutcome
{
    private FinishOutcome() { }

    /// <summary>
    /// The membership stands. <paramref name="SignIn"/>: sign this person in, this once; null: sign in by mail, and <paramref name="IsMailed"/> says that one is on
    /// its way.
    /// </summary>
    public sealed record Joined(string Email, Person? SignIn, bool IsMailed = false) : FinishOutcome;

    /// <summary>The payment page is still open, or was left.</summary>
    public sealed record NotPaid(Uri? Page) : FinishOutcome;

    /// <summary>Paid, but the provider can't be asked just now. The message about it, or the next look, makes the membership.</summary>
    public sealed record Later(string Words) : FinishOutcome;

    /// <summary>What was joined so has ended since, or its person has been deleted. Nobody is signed in.</summary>
    public sealed record Over : FinishOutcome;

    public sealed record NoSuchJoining : FinishOutcome;
}

/// <summary>Somebody comes back from the payment page.</summary>
public sealed class FinishJoining(ShelfDb db, IPayments payments, LookAgain lookAgain, AskForSignIn ask, TimeProvider clock)
{
    /// <param name="token">Of the address of the way back.</param>
    /// <param name="shelfAddress">For mails, without a slash at its end; null when none is sure.</param>
    /// <param name="isSameBrowser">The joining was begun there: an address can be handed on, and must sign nobody in who only opened it.</param>
    /// <param name="cancellationToken">Ends it; looking again is harmless.</param>
    public async Task<FinishOutcome> RunAsync(string token, string? shelfAddress, bool isSameBrowser, CancellationToken cancellationToken)
    {
        var hash = Secrets.Hash(token);
        var joining = await db.Joinings.AsNoTracking().SingleOrDefaultAsync(j => j.TokenHash == hash, cancellationToken);
        if (joining?.CheckoutId is not { } checkoutId)
            return new FinishOutcome.NoSuchJoining();
        string membership;
        try
        {
            var checkout = await payments.ReadCheckoutAsync(checkoutId, cancellationToken);
            if (checkout is not { IsPaid: true, MembershipId: { } paid })
                return new FinishOutcome.NotPaid(checkout?.Page);
            membership = paid;
            if (await lookAgain.RunAsync(membership, shelfAddress, cancellationToken) is LookOutcome.NeverPaid or LookOutcome.NotThere or LookOutcome.NobodysOurs)
                return new FinishOutcome.Later(T("The payment provider has not written the payment down yet."));
        }
        catch (PaymentsUnreachableException away)
        {
            return new FinishOutcome.Later(away.Message);
        }
        if (await IsOverAsync(membership, cancellationToken))
            return new FinishOutcome.Over();
        var person = await SignInAsync(joining.Id, cancellationToken);
        if (person is null || isSameBrowser)
            return new FinishOutcome.Joined(joining.Email, person);
        var asked = await ask.RunAsync(joining.Email, shelfAddress, returnPath: "", cancellationToken);
        return new FinishOutcome.Joined(joining.Email, SignIn: null, IsMailed: asked == AskOutcome.MailOnItsWay);
    }

    /// <summary>The way back stays in a browser's history for as long as it likes.</summary>
    private async Task<bool> IsOverAsync(string membership, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return !await db.PaidMemberships.AnyAsync(
            m => m.ProviderId == membership && m.ActiveUntil > now && db.Users.Any(p => p.Id == m.PersonId && p.DeletedAt == null), cancellationToken);
    }

    /// <summary>
    /// Once, and only somebody this joining brought to the shelf: paying proves no mailbox, so a known address, which may own libraries, has to
    /// sign in by mail.
    /// </summary>
    private async Task<Person?> SignInAsync(long joiningId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var used = await db.Joinings.Where(j => j.Id == joiningId && j.IsNewPerson && j.PersonId != null && j.SignedInAt == null)
            .ExecuteUpdateAsync(s => s.SetProperty(j => j.SignedInAt, now), cancellationToken);
        if (used == 0)
            return null;
        var personId = await db.Joinings.Where(j => j.Id == joiningId).Select(j => j.PersonId).SingleAsync(cancellationToken);
        // Whoever has signed in by mail meanwhile has proved the mailbox; this page has not. Joined with another's, the place is that one's.
        var person = await db.Users.SingleOrDefaultAsync(
            p => p.Id == personId && !p.EmailConfirmed && !p.IsMaker && p.DeletedAt == null && p.MergedIntoId == null, cancellationToken);
        if (person is not null)
            await ImportClaims.MarkAsync(db, person.Id, now, cancellationToken);
        return person;
    }
}

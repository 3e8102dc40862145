using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Mail;

/// <summary>
/// Forgets to whom mails went, once nobody asks any more. Mails to sign in, and those that ask whether somebody follows, go whole, because who only asked for
/// one is nobody the shelf knows; of the others the row stays without the address and, of one given up, without its text, because its cause says that this mail was written once.
/// </summary>
public sealed class SweepMails(ShelfDb db, TimeProvider clock)
{
    public static readonly TimeSpan SignInKept = TimeSpan.FromDays(30);
    public static readonly TimeSpan AddressKept = TimeSpan.FromDays(90);

    /// <returns>How many rows went or lost their address.</returns>
    public async Task<int> RunAsync(CancellationToken cancellationToken)
    {
        var (signIn, others) = (clock.GetUtcNow() - SignInKept, clock.GetUtcNow() - AddressKept);
        var gone = await db.Outbox.Where(m => (m.Cause.StartsWith("sign-in:") || m.Cause.StartsWith("following:")) && m.CreatedAt < signIn).ExecuteDeleteAsync(cancellationToken);
        // What the other side said often names the address; of one left out the words are the shelf's own.
        return gone + await db.Outbox.Where(m => (m.To != "" || m.Text != "" || (m.LastError != null && m.Attempts > 0)) && (m.SentAt < others || m.GaveUpAt < others))
            .ExecuteUpdateAsync(s => s.SetProperty(m => m.To, "").SetProperty(m => m.Text, "").SetProperty(m => m.LastError, m => m.Attempts > 0 ? null : m.LastError), cancellationToken);
    }
}

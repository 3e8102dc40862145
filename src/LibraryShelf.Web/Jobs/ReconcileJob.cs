using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Jobs;

/// <summary>Each day, and at start: looks at every membership at the payment provider, in case its messages missed something.</summary>
internal sealed class ReconcileJob(ReconcileMemberships reconcile, PublicAddress address, JobChain chain)
{
    /// <returns>Why it could not be done, for the maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        try
        {
            var looked = await reconcile.RunAsync(address.Set, cancellationToken);
            if (looked.LookedAt > 0)
                chain.MailSoon();
            return looked.Unread;
        }
        catch (PaymentsUnreachableException away)
        {
            return T($"The daily look at the payment provider broke off: {away.Message} Memberships stand as they were last told. It is tried again tomorrow and at each start.");
        }
    }
}

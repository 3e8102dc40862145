using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Payments;

/// <summary>The way out that stands in each mail about a membership.</summary>
internal static class LeaveLink
{
    /// <summary>How to leave, as the end of a sentence. The link is a fresh one for each mail; of its token only the hash is kept. The caller saves.</summary>
    /// <param name="shelfAddress">Without a slash at its end; null: the place is named in words.</param>
    public static string Make(ShelfDb db, long paidMembershipId, string? shelfAddress, DateTimeOffset now)
    {
        if (shelfAddress is null)
            return "in two presses, on your page on the shelf, under Leave.";
        var token = Secrets.NewToken();
        db.LeaveTickets.Add(new LeaveTicket { PaidMembershipId = paidMembershipId, TokenHash = Secrets.Hash(token), CreatedAt = now });
        return $"in two presses and without signing in: {shelfAddress}/leave/{token}";
    }
}

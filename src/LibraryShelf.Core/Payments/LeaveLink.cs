using System.Globalization;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Payments;

/// <summary>The way out that stands in each mail about a membership.</summary>
internal static partial class LeaveLink
{
    /// <summary>Stands in a kept text where the token of a link was.</summary>
    private const string Anew = "/leave/[anew]";

    /// <summary>How to leave, as the end of a sentence. The link is a fresh one for each mail; of its token only the hash is kept. The caller saves.</summary>
    /// <param name="shelfAddress">Without a slash at its end; null: the place is named in words.</param>
    public static string Make(ShelfDb db, long paidMembershipId, string? shelfAddress, DateTimeOffset now)
    {
        return shelfAddress is null
            ? T("in two presses, on your page on the shelf, under Leave.")
            : T($"in two presses and without signing in: {shelfAddress}/leave/{MakeToken(db, paidMembershipId, now)}");
    }

    /// <summary>A mail's text without the tokens of its links, to be kept for another try: whoever reads it in a backup can end nobody's membership.</summary>
    public static string Strip(string text) => Link().Replace(text, Anew);

    /// <summary>The text again, with a fresh link. The caller saves.</summary>
    /// <param name="cause">Of its mail; names the membership.</param>
    /// <returns>As it is, if no link was stripped from it; null: the membership is not there any more.</returns>
    public static async Task<string?> RenewAsync(ShelfDb db, string cause, string text, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (!text.Contains(Anew, StringComparison.Ordinal))
            return text;
        if (!long.TryParse(MembershipIn(cause.Split(':')), NumberStyles.None, CultureInfo.InvariantCulture, out var id)
            || !await db.PaidMemberships.AnyAsync(m => m.Id == id, cancellationToken))
            return null;
        return text.Replace(Anew, $"/leave/{MakeToken(db, id, now)}", StringComparison.Ordinal);
    }

    private static string? MembershipIn(string[] cause) => cause switch
    {
        ["price", _, var id] => id,
        ["joined", var id] => id,
        ["unpaid", var id, _] => id,
        _ => null,
    };

    private static string MakeToken(ShelfDb db, long paidMembershipId, DateTimeOffset now)
    {
        var token = Secrets.NewToken();
        db.LeaveTickets.Add(new LeaveTicket { PaidMembershipId = paidMembershipId, TokenHash = Secrets.Hash(token), CreatedAt = now });
        return token;
    }

    [GeneratedRegex("/leave/[A-Za-z0-9_-]{43}", RegexOptions.CultureInvariant, matchTimeoutMilliseconds: 1000)]
    private static partial Regex Link();
}

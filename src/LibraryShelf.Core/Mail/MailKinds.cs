using System.Linq.Expressions;

namespace LibraryShelf.Core.Mail;

/// <summary>Which kind a mail is of: its cause says it, so that no writer of mails can forget to.</summary>
public static class MailKinds
{
    /// <summary>What stands before the first colon of a cause, and which kind that is.</summary>
    private static readonly Dictionary<string, MailKind> Kinds = new(StringComparer.Ordinal)
    {
        ["sign-in"] = MailKind.SignIn, ["delete-me"] = MailKind.SignIn, ["address"] = MailKind.SignIn,
        ["drop"] = MailKind.Drop, ["slip"] = MailKind.Drop,
        ["version"] = MailKind.NewVersion, ["early"] = MailKind.NewVersion, ["behind"] = MailKind.NewVersion,
        ["withdrawn"] = MailKind.Withdrawal, ["mended-after"] = MailKind.Withdrawal,
        ["mended"] = MailKind.FaultMended, ["answered"] = MailKind.FaultMended,
        ["unpaid"] = MailKind.RenewalFailed, ["welcome"] = MailKind.Welcome, ["left"] = MailKind.Goodbye,
        // What somebody agreed to on joining has to reach them, so "joined" is a notice.
        ["alert"] = MailKind.Alert, ["week"] = MailKind.Weekly, ["follow"] = MailKind.Follow,
        // Anyone can type any address there: it waits its turn, and a closed mailbox gets none.
        ["following"] = MailKind.Notice,
    };

    /// <summary>Every word that makes a mail more than a notice, and those of notices anybody can cause.</summary>
    internal static IEnumerable<string> Words => Kinds.Keys;

    /// <summary>Causes whose mails say themselves why somebody gets them.</summary>
    internal static IReadOnlySet<string> WithWhy { get; } = new HashSet<string>(StringComparer.Ordinal)
    {
        "drop", "rehearsal", "slip", "version", "behind", "follow", "early", "withdrawn", "mended-after", "mended", "answered", "welcome", "claim", "joined", "price", "credit",
    };

    internal static bool SaysWhy(string cause) => WithWhy.Contains(cause.Split(':', 2)[0]);

    /// <returns><see cref="MailKind.Notice"/> for a cause that names none of the others.</returns>
    public static MailKind Of(string cause) => Kinds.GetValueOrDefault(cause.Split(':', 2)[0], MailKind.Notice);

    /// <summary>What somebody waits for at this moment, having asked for it: goes before all others, also from a shelf that is held.</summary>
    internal static readonly Expression<Func<OutboxMail, bool>> IsWaitedFor = m =>
        m.Cause.StartsWith("sign-in:") || m.Cause.StartsWith("delete-me:") || m.Cause.StartsWith("address:");

    /// <summary>The same of one mail.</summary>
    internal static bool IsMailWaitedFor(string cause) => Of(cause) == MailKind.SignIn;

    /// <summary>All but those that say what a membership will cost, or that it will not: a new price holds for whom the mail about it was sent.</summary>
    internal static readonly Expression<Func<OutboxMail, bool>> IsNotAboutPrice = m => !m.Cause.StartsWith("price:") && !m.Cause.StartsWith("price-off:");

    /// <summary>What somebody asked for who may not be known, with a link in it: given up, its text goes, and they ask for another.</summary>
    internal static bool IsAskedForAnew(string cause) => IsMailWaitedFor(cause) || cause.StartsWith("following:", StringComparison.Ordinal);

    /// <summary>Whether people may choose not to get these: not what they ask for themselves, nor what they must hear of.</summary>
    public static bool CanBeRefused(MailKind kind) => kind is not (MailKind.SignIn or MailKind.Notice);
}

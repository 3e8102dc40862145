namespace LibraryShelf.Core.Mail;

/// <summary>A kind of mail that people may choose not to get.</summary>
/// <param name="Kind">Which.</param>
/// <param name="Slug">In the address of the link that stops it; never changes, because it stands in mails already sent.</param>
/// <param name="Title">Between words: "the month’s drop".</param>
/// <param name="Heading">The same for itself: "The month’s drop".</param>
/// <param name="When">When one comes, a sentence.</param>
public sealed record LetterKind(MailKind Kind, string Slug, string Title, string Heading, string When);

/// <summary>Every kind that can be refused, in the order in which people see them.</summary>
public static class LetterKinds
{
    public static IReadOnlyList<LetterKind> All { get; } =
    [
        new(MailKind.Drop, "drop", T("the month’s drop"), T("The month’s drop"), T("Once a month, when a drop goes out, and when one slips.")),
        new(MailKind.NewVersion, "new-version", T("new versions of what you have"), T("New versions of what you have"), T("When a library you fetched has a new version, when one is given to you early, and when the maker writes to those who have an earlier one.")),
        new(MailKind.Follow, "follow", T("libraries you follow"), T("Libraries you follow"), T("When a library you follow has a new version.")),
        new(MailKind.Withdrawal, "withdrawal", T("withdrawn versions"), T("Withdrawn versions"), T("When a version you fetched is taken off the shelf, and when a mended one is there.")),
        new(MailKind.FaultMended, "fault", T("faults you told of"), T("Faults you told of"), T("When a fault you told of is mended or answered.")),
        new(MailKind.RenewalFailed, "renewal", T("renewals that failed"), T("Renewals that failed"), T("When a payment for your membership did not go through.")),
        new(MailKind.Welcome, "welcome", T("memberships given to you"), T("Memberships given to you"), T("When the maker makes you a member.")),
        new(MailKind.Goodbye, "goodbye", T("the end of a membership"), T("The end of a membership"), T("When your membership ends.")),
        new(MailKind.Alert, "alert", T("what the shelf needs"), T("What the shelf needs"), T("When the shelf needs its maker.")),
        new(MailKind.Weekly, "week", T("your week in figures"), T("Your week in figures"), T("Each Monday, about the week before.")),
    ];

    /// <summary>Those that may come to somebody: alerts and the week’s letter are the maker's alone, and what members get does not come to her.</summary>
    public static IEnumerable<LetterKind> For(bool isMaker) => All.Where(k => isMaker ? k.Kind is MailKind.Alert or MailKind.Weekly or MailKind.Follow or MailKind.FaultMended : k.Kind is not (MailKind.Alert or MailKind.Weekly));

    /// <summary>Null: no kind has this slug.</summary>
    public static LetterKind? Find(string slug) => All.FirstOrDefault(k => k.Slug == slug);

    /// <summary>Null: this kind can't be refused.</summary>
    public static LetterKind? Find(MailKind kind) => All.FirstOrDefault(k => k.Kind == kind);
}

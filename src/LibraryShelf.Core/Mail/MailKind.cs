namespace LibraryShelf.Core.Mail;

/// <summary>What a mail is for. People refuse each kind on its own, except those that <see cref="MailKinds.CanBeRefused"/> names as needed.</summary>
public enum MailKind
{
    /// <summary>Asked for by whoever signs in, or is to say that something is really theirs to do.</summary>
    SignIn,
    Drop,
    /// <summary>A new version of a library they have.</summary>
    NewVersion,
    /// <summary>A version they fetched was withdrawn, or something good is in its place.</summary>
    Withdrawal,
    FaultMended,
    RenewalFailed,
    Welcome,
    Goodbye,
    /// <summary>To the maker.</summary>
    Alert,
    /// <summary>To the maker: what the figures of a week say.</summary>
    Weekly,
    /// <summary>A new version of a library that somebody follows who need not be known otherwise.</summary>
    Follow,
    /// <summary>About their money, their address or their rights, which they must hear of: another price, a credit, a deleted account.</summary>
    Notice,
}

using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Letters;

/// <summary>Why a mail may, or may not, be sent.</summary>
public enum MaySendWhy
{
    Yes,
    /// <summary>They chose not to get mails of its kind.</summary>
    Refused,
    /// <summary>The mailbox refused for good before, and nobody asked for this mail.</summary>
    Suppressed,
    /// <summary>The shelf was restored from a backup, and the maker has not said yet that it is the one shelf. The mail waits.</summary>
    Held,
}

/// <summary>The rule of sending: one pure function.</summary>
public static class MaySend
{
    /// <param name="kind">The mail's.</param>
    /// <param name="isRefused">Whoever gets it refuses this kind.</param>
    /// <param name="isSuppressed">The address is on the list of those that refused for good.</param>
    /// <param name="isHeld">The shelf holds its mails.</param>
    public static MaySendWhy Decide(MailKind kind, bool isRefused, bool isSuppressed, bool isHeld)
    {
        // Somebody waits for it: whoever can't sign in can't mend anything, and the mailbox may be well again.
        if (kind == MailKind.SignIn)
            return MaySendWhy.Yes;
        if (isHeld)
            return MaySendWhy.Held;
        if (isRefused && MailKinds.CanBeRefused(kind))
            return MaySendWhy.Refused;
        return isSuppressed ? MaySendWhy.Suppressed : MaySendWhy.Yes;
    }
}

using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Letters;

/// <summary>Whether mail programs can stop the shelf's letters with one click (RFC 8058 §3.1: by https alone). Pure.</summary>
public static class OneClick
{
    /// <returns>Why they can't, and what to do, in words for the maker; null: they can, or the shelf signs no mails, so that it is the mail server's matter.</returns>
    public static string? TroubleOf(ShelfSettings settings)
    {
        if (settings.Mail.DkimKeyFile.Length == 0 || settings.PublicUrl.StartsWith("https://", StringComparison.OrdinalIgnoreCase))
            return null;
        return settings.PublicUrl.Length == 0
            ? T("Mails are signed, but Shelf:PublicUrl is not set, so mail programs can’t stop letters by a button of theirs: letters carry no List-Unsubscribe, and large providers may take them for spam. Set Shelf:PublicUrl to the shelf’s address, with https.")
            : T("Mails are signed, but Shelf:PublicUrl is not https, so mail programs can’t stop letters with one click: List-Unsubscribe-Post is left out of them, and large providers may take them for spam. Set Shelf:PublicUrl to the shelf’s https address.");
    }
}

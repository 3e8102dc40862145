using System.Net.Mail;

namespace LibraryShelf.Core.Accounts;

/// <summary>An e-mail address as typed, made fit to keep and to compare.</summary>
public static class EmailAddress
{
    /// <summary>RFC 5321 §4.5.3.1.3: a path of 256 octets with its angle brackets.</summary>
    private const int Longest = 254;

    /// <returns>The bare address without surrounding space; null when what was typed is none.</returns>
    public static string? Tidy(string? typed)
    {
        var address = typed?.Trim() ?? "";
        return address.Length <= Longest && !address.Any(char.IsControl)
            && MailAddress.TryCreate(address, out var parsed) && parsed.Address == address
            ? address
            : null;
    }

    /// <summary>The same as Identity's normaliser, so that both find the same person.</summary>
    public static string Normalize(string address) => address.Normalize().ToUpperInvariant();
}

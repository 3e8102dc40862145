using System.Text.RegularExpressions;

namespace LibraryShelf.Browser.Tests;

/// <summary>The folder of .eml files, read as a mail program would.</summary>
internal static partial class Outbox
{
    /// <summary>Whether a mail to this address with that word in its subject stands there.</summary>
    public static async Task<bool> HasAsync(RunningShelf shelf, string email, string word)
    {
        foreach (var file in Directory.EnumerateFiles(Path.Combine(shelf.DataDirectory, "outbox"), "*.eml"))
        {
            var mail = await File.ReadAllTextAsync(file);
            if (mail.Contains($"To: {email}", StringComparison.OrdinalIgnoreCase) && Subject().Match(mail).Value.Contains(word, StringComparison.Ordinal))
                return true;
        }
        return false;
    }

    /// <summary>Waits for the sign-in mail to this address and gives the link in it.</summary>
    public static Task<string> SignInLinkAsync(RunningShelf shelf, string email) => LinkAsync(shelf, email, "sign-in");

    /// <summary>Waits for a mail to this address with a link to a page of this name and a secret, and gives the link.</summary>
    public static async Task<string> LinkAsync(RunningShelf shelf, string email, string page)
    {
        using var patience = new CancellationTokenSource(RunningShelf.LongestWait);
        while (true)
        {
            foreach (var file in Directory.EnumerateFiles(Path.Combine(shelf.DataDirectory, "outbox"), "*.eml"))
            {
                var mail = await File.ReadAllTextAsync(file, patience.Token);
                // Quoted-printable may fold a long line (RFC 2045 §6.7, rule 5).
                var text = mail.ReplaceLineEndings("\n").Replace("=\n", "", StringComparison.Ordinal).Replace("=3D", "=", StringComparison.Ordinal);
                if (text.Contains($"To: {email}", StringComparison.OrdinalIgnoreCase) && Links().Matches(text).FirstOrDefault(l => l.Groups[1].Value == page) is { } link)
                    return link.Value;
            }
            await Task.Delay(50, patience.Token);
        }
    }

    [GeneratedRegex(@"^Subject:.*$", RegexOptions.Multiline, 1000)]
    private static partial Regex Subject();

    [GeneratedRegex(@"http://[^\s/]+/([a-z-]+)/[A-Za-z0-9_-]{20,}[^\s]*", RegexOptions.None, 1000)]
    private static partial Regex Links();
}

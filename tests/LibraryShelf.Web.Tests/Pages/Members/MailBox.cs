using System.Text.RegularExpressions;
using LibraryShelf.Core.Letters;
using MimeKit;

namespace LibraryShelf.Web.Tests.Pages.Members;

/// <summary>Sends what the host's outbox holds and reads the newest .eml as its receiver would.</summary>
internal static partial class MailBox
{
    public static async Task<ReceivedMail> NewestMailAsync(this ShelfHost host, string to)
    {
        await host.RunAsync<SendOutbox, OutboxRound>(send => send.RunAsync(CancellationToken.None));
        var mails = Directory.EnumerateFiles(Path.Combine(host.DataFolder, "outbox"), "*.eml").Select(file => (file, message: MimeMessage.Load(file)))
            .Where(m => m.message.To.Mailboxes.Any(a => a.Address == to))
            .OrderBy(m => m.file, StringComparer.Ordinal).ToList();
        Assert.NotEmpty(mails);
        var (file, newest) = mails[^1];
        var text = newest.TextBody!.ReplaceLineEndings("\n");
        return new(file, newest.Subject ?? "", text, Link().Match(text).Value, Code().Match(text).Value, AddressToken().Match(text).Groups[1].Value);
    }

    /// <summary>The mail asked for on the sign-in page.</summary>
    public static async Task<ReceivedMail> AskAsync(this ShelfHost host, HttpClient client, string email, string page = "/sign-in")
    {
        var answer = await client.PressAndStayAsync(await client.PageAsync(page), "Send me the mail", ("Email", email));
        Assert.Equal("Look in your mail", answer.QuerySelector("h1")!.Words());
        return await host.NewestMailAsync(email);
    }

    [GeneratedRegex(@"/sign-in/[A-Za-z0-9_-]{43}\S*", RegexOptions.None, 1000)]
    private static partial Regex Link();

    [GeneratedRegex("/address/([A-Za-z0-9_-]{43})$", RegexOptions.Multiline, 1000)]
    private static partial Regex AddressToken();

    [GeneratedRegex("^[2-9A-Z]{4}-[2-9A-Z]{4}$", RegexOptions.Multiline, 1000)]
    private static partial Regex Code();
}

/// <param name="Link">Path and query of the sign-in link; empty when the mail has none.</param>
/// <param name="AddressToken">Of the link that asks whether an address changes; empty likewise.</param>
internal sealed record ReceivedMail(string File, string Subject, string Text, string Link, string Code, string AddressToken);

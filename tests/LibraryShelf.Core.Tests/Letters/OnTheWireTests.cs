using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using MimeKit;
using MimeKit.Cryptography;
using Org.BouncyCastle.Crypto;
using Org.BouncyCastle.Security;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>The outbox against a mail server in this process, and what came over the line against RFC 5322, RFC 6376 and RFC 8058.</summary>
public sealed class OnTheWireTests : IDisposable
{
    private readonly string _keyFile = Path.GetTempFileName();

    public void Dispose() => File.Delete(_keyFile);

    private Task<OutboxRound> SendAsync(LetterBench bench, RawSmtp server)
    {
        bench.Settings.Mail = new()
        {
            SmtpHost = "127.0.0.1", SmtpPort = server.Port, SmtpSecurity = "none", FromAddress = "shelf@tinworks.example",
            DkimKeyFile = _keyFile, DkimSelector = "letters", DkimDomain = "tinworks.example",
        };
        var settings = Options.Create(bench.Settings);
        return bench.Bench.WithAsync(db => new SendOutbox(db, new SmtpMailer(settings), bench.Bench.Bench.Shelf.Clock, settings, NullLogger<SendOutbox>.Instance).RunAsync(default));
    }

    [Fact]
    public async Task Taken_put_off_refused_and_cut_off_in_the_middle_each_ends_as_it_should()
    {
        using var rsa = RSA.Create(2048);
        await File.WriteAllTextAsync(_keyFile, rsa.ExportRSAPrivateKeyPem());
        await using var server = new RawSmtp();
        await using var bench = await LetterBench.MakeAsync();
        string[] names = ["wren", "later", "never", "disliked", "cut"];
        var people = new List<long>();
        foreach (var name in names)
            people.Add(await bench.MemberAsync($"{name}@post.example"));
        var drop = await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], [.. people]);

        Assert.Equal((1, 2, 2), (await SendAsync(bench, server)) is var first ? (first.Sent, first.PutOff, first.GivenUp) : default);
        // RFC 3463 §3.2: X.1.1 is about the mailbox, X.7.1 about what the server thinks of us.
        Assert.Equal("NEVER@POST.EXAMPLE", (await bench.Bench.WithAsync(db => db.MailSuppressions.SingleAsync())).NormalizedEmail);
        bench.Bench.Bench.Shelf.Clock.Advance(SendOutbox.Waits[0]);
        Assert.Equal((1, 1, 0), (await SendAsync(bench, server)) is var second ? (second.Sent, second.PutOff, second.GivenUp) : default);

        var messages = server.Taken.ConvertAll(bytes => MimeMessage.Load(new MemoryStream(bytes)));
        Assert.Equal(["wren@post.example", "cut@post.example"], messages.Select(m => m.To.ToString()));
        Assert.Contains($"<{messages[1].MessageId}>", Assert.Single(server.Cut), StringComparison.Ordinal);
        Assert.StartsWith($"drop.{drop}.{people[^1]}.", messages[1].MessageId, StringComparison.Ordinal);
        foreach (var (bytes, message) in server.Taken.Zip(messages))
            await HoldAsync(bytes, message, rsa, bench);
    }

    /// <summary>RFC 5321 §4.5.4.1 wants a mail put off to be tried again; §6.1 says that a lost answer doubles it, so the double has to be known by its Message-ID.</summary>
    [Fact]
    public async Task Greylisted_it_arrives_once_and_with_the_answer_lost_twice_under_one_Message_ID()
    {
        using var rsa = RSA.Create(2048);
        await File.WriteAllTextAsync(_keyFile, rsa.ExportRSAPrivateKeyPem());
        await using var server = new RawSmtp();
        await using var bench = await LetterBench.MakeAsync();
        await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], await bench.MemberAsync("grey@post.example"), await bench.MemberAsync("lost@post.example"));
        Assert.Equal((0, 2), await SendAsync(bench, server) is var first ? (first.Sent, first.PutOff) : default);
        Assert.All(await bench.Bench.WithAsync(db => db.Outbox.Select(m => m.Attempts).ToListAsync()), attempts => Assert.Equal(1, attempts));
        bench.Bench.Bench.Shelf.Clock.Advance(SendOutbox.Waits[0]);
        Assert.Equal((2, 0), await SendAsync(bench, server) is var second ? (second.Sent, second.PutOff) : default);
        var messages = server.Taken.ConvertAll(bytes => MimeMessage.Load(new MemoryStream(bytes)));
        Assert.Equal(["lost@post.example", "grey@post.example", "lost@post.example"], messages.Select(m => m.To.ToString()));
        Assert.Equal(messages[0].MessageId, messages[2].MessageId);
    }

    [Fact]
    public async Task Log_in_first_is_about_the_settings_and_costs_no_letter_a_try()
    {
        using var rsa = RSA.Create(2048);
        await File.WriteAllTextAsync(_keyFile, rsa.ExportRSAPrivateKeyPem());
        await using var server = new RawSmtp { WantsLogin = true };
        await using var bench = await LetterBench.MakeAsync();
        await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], await bench.MemberAsync("wren@post.example"), await bench.MemberAsync("robin@post.example"));
        Assert.True((await SendAsync(bench, server)).IsServerAway);
        Assert.Equal(1, server.Senders);
        Assert.All(await bench.Bench.WithAsync(db => db.Outbox.Select(m => m.Attempts).ToListAsync()), attempts => Assert.Equal(0, attempts));
        Assert.Contains("wants a name and a password", await bench.Bench.WithAsync(db => db.Outbox.Where(m => m.LastError != null).Select(m => m.LastError).SingleAsync()), StringComparison.Ordinal);
        server.WantsLogin = false;
        bench.Bench.Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(5));
        Assert.Equal(2, (await SendAsync(bench, server)).Sent);
    }

    private static async Task HoldAsync(byte[] bytes, MimeMessage message, RSA rsa, LetterBench bench)
    {
        var raw = Encoding.Latin1.GetString(bytes);
        // RFC 5322 §2.1.1: 998 characters a line at most, 78 should be; here only the signature and an address are longer.
        Assert.All(raw.Split("\r\n"), line => Assert.True(line.Length <= 130, line));
        Assert.All(raw, c => Assert.True(c < 128));
        // RFC 5322 §3.6: exactly one of each.
        foreach (var field in new[] { HeaderId.From, HeaderId.To, HeaderId.Date, HeaderId.MessageId, HeaderId.Subject, HeaderId.MimeVersion })
            Assert.Single(message.Headers, h => h.Id == field);
        Assert.Equal("auto-generated", message.Headers[HeaderId.AutoSubmitted]);
        Assert.Null(message.Headers[HeaderId.Precedence]);
        Assert.Equal("multipart/alternative", message.Body!.ContentType.MimeType);
        Assert.Contains("the drop of November 2026 is out", message.TextBody, StringComparison.Ordinal);
        Assert.Contains("the drop of November 2026 is out", message.HtmlBody, StringComparison.Ordinal);

        // RFC 8058 §3.1, line by line: one https address that names who and what and can't be guessed; the one key and value; both signed.
        var key = await bench.Bench.WithAsync(db => db.Users.Where(p => p.Email == message.To.ToString()).Select(p => p.LetterKey).SingleAsync());
        Assert.Equal(22, key!.Length);
        Assert.Single(message.Headers, h => h.Id == HeaderId.ListUnsubscribe);
        Assert.Equal($"<{OutBench.Address}/letters/{key}/drop>", message.Headers[HeaderId.ListUnsubscribe]);
        Assert.Contains($"\r\nList-Unsubscribe: <{OutBench.Address}/letters/{key}/drop>\r\nList-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n", raw, StringComparison.Ordinal);
        Assert.Single(message.Headers, h => h.Id == HeaderId.ListUnsubscribePost);
        Assert.Equal("List-Unsubscribe=One-Click", message.Headers[HeaderId.ListUnsubscribePost]);
        var signature = message.Headers.Single(h => h.Id == HeaderId.DkimSignature);
        var signed = signature.Value.Split(';', StringSplitOptions.TrimEntries).Single(t => t.StartsWith("h=", StringComparison.Ordinal))[2..].Split(':', StringSplitOptions.TrimEntries);
        Assert.Superset(new HashSet<string>(["from", "to", "subject", "date", "message-id", "list-unsubscribe", "list-unsubscribe-post"], StringComparer.OrdinalIgnoreCase),
            new HashSet<string>(signed, StringComparer.OrdinalIgnoreCase));
        Assert.True(await new DkimVerifier(new OneKey(rsa)).VerifyAsync(message, signature));
        message.Headers[HeaderId.ListUnsubscribe] = "<https://elsewhere.example/>";
        Assert.False(await new DkimVerifier(new OneKey(rsa)).VerifyAsync(message, signature));
    }

    /// <summary>What the DNS would answer at letters._domainkey.tinworks.example.</summary>
    private sealed class OneKey(RSA rsa) : IDkimPublicKeyLocator
    {
        public AsymmetricKeyParameter LocatePublicKey(string methods, string domain, string selector, CancellationToken cancellationToken = default) =>
            (domain, selector) == ("tinworks.example", "letters") ? DotNetUtilities.GetRsaPublicKey(rsa) : throw new KeyNotFoundException();

        public Task<AsymmetricKeyParameter> LocatePublicKeyAsync(string methods, string domain, string selector, CancellationToken cancellationToken = default) =>
            Task.FromResult(LocatePublicKey(methods, domain, selector, cancellationToken));
    }
}

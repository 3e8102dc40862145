using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using System.Text;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Web.Tests.Endpoints;
using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>
/// After a walk past every secret: none lies in the clear in any column of any table, and none was logged, with every log turned up
/// to Trace. The database's two exceptions are by nature: the keys that sign links, and the keys of cookies (data protection).
/// </summary>
public sealed class SecretTests
{
    private const string SmtpPassword = "a-relays-password-of-no-use";
    private static readonly string[] Exceptions = ["LinkKeys.Secret", "DataProtectionKeys.Xml"];

    [Fact]
    public async Task No_secret_is_kept_in_the_clear_or_logged()
    {
        var log = new EverythingLogged();
        await using var host = new ShelfHost
        {
            Settings =
            {
                ["Logging:LogLevel:Default"] = "Trace", ["Logging:LogLevel:Microsoft.AspNetCore"] = "Trace",
                ["Logging:LogLevel:Microsoft.AspNetCore.Hosting.Diagnostics"] = "Trace", ["Logging:LogLevel:Microsoft.AspNetCore.Routing"] = "Trace",
                ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "Trace", ["Logging:LogLevel:Hangfire"] = "Trace",
                ["Shelf:Mail:SmtpUser"] = "relay", ["Shelf:Mail:SmtpPassword"] = SmtpPassword,
            },
            Replace = services => services.AddLogging(l => l.AddProvider(log)),
        };
        var secrets = await WalkAsync(host);
        Assert.All(secrets, s => Assert.True(s.Value.Length >= 8, $"{s.What} is not read: “{s.Value}”"));

        var wrong = new List<string>();
        await ShelfState.ForEachRowAsync(host, (table, row) => wrong.AddRange(
            from column in row
            where !Exceptions.Contains($"{table}.{column.Column}")
            from secret in secrets
            where column.Value.Contains(secret.Value, StringComparison.Ordinal)
                || column.Value.Contains(Convert.ToHexStringLower(Encoding.UTF8.GetBytes(secret.Value)), StringComparison.Ordinal)
            select $"{secret.What} stands in {table}.{column.Column}"));
        wrong.AddRange(from line in log.Lines from secret in secrets where line.Contains(secret.Value, StringComparison.Ordinal) select $"{secret.What} was logged: {line}");
        Assert.True(wrong.Count == 0, string.Join('\n', wrong.Distinct()));
        Assert.NotEmpty(log.Lines);
    }

    [Fact]
    public async Task A_genuine_link_and_an_upload_leave_no_right_in_the_log_or_the_tables()
    {
        await using var shelf = await StockedHost.MakeAsync(new Dictionary<string, string> { ["Logging:LogLevel:Default"] = "Trace" }, 700);
        var log = new EverythingLogged();
        shelf.Host.Services.GetRequiredService<ILoggerFactory>().AddProvider(log);
        var link = await shelf.LinkAsync();
        foreach (var range in new[] { "bytes=0-9", "bytes=999999999-", "nonsense" })
            (await shelf.GetAsync(link.Path, ("Range", range))).Dispose();
        (await shelf.GetAsync(link.Path[..^1] + (link.Path[^1] == 'A' ? 'B' : 'A'))).Dispose();
        await shelf.EventsAsync(link.DownloadId, e => e.Count > 0);

        var token = await shelf.Host.RunAsync<MakeUploadToken, string>(make => make.RunAsync("bench", default));
        var started = Assert.IsType<StartReleaseOutcome.Started>(
            await shelf.Host.RunAsync<StartRelease, StartReleaseOutcome>(start => start.RunAsync("fluegel-and-tin", null, default)));
        using (var machine = shelf.Client())
        using (var creation = new HttpRequestMessage(HttpMethod.Post, "/uploads") { Content = new ByteArrayContent([1, 2, 3]) })
        {
            machine.DefaultRequestHeaders.Authorization = new("Bearer", token);
            creation.Content.Headers.ContentType = new("application/offset+octet-stream");
            creation.Headers.Add("Tus-Resumable", "1.0.0");
            creation.Headers.Add("Upload-Length", "3");
            creation.Headers.Add("Upload-Metadata", $"release {Base64($"{started.ReleaseId}")},path {Base64("Samples/a.wav")}");
            using var made = await machine.SendAsync(creation);
            Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        }
        (string What, string Value)[] secrets = [("the link's signature", link.Path[(link.Path.LastIndexOf('=') + 1)..]), ("the upload token", token)];
        Assert.All(secrets, s => Assert.True(s.Value.Length >= 20, s.What));
        Assert.NotEmpty(log.Lines);
        Assert.DoesNotContain(log.Lines, line => Array.Exists(secrets, s => line.Contains(s.Value, StringComparison.Ordinal)));
        await ShelfState.ForEachRowAsync(shelf.Host, (table, row) => Assert.DoesNotContain(row, column =>
            !Exceptions.Contains($"{table}.{column.Column}") && Array.Exists(secrets, s => column.Value.Contains(s.Value, StringComparison.Ordinal))));
    }

    /// <summary>A relay that refuses whoever comes: the conversation with it fails where the password was just said.</summary>
    [Fact]
    public async Task A_relays_password_is_not_told_when_the_relay_refuses_it()
    {
        using var relay = new TcpListener(IPAddress.Loopback, 0);
        relay.Start();
        var said = RefuseAsync(relay);
        var log = new EverythingLogged();
        await using var host = new ShelfHost
        {
            Settings =
            {
                ["Logging:LogLevel:Default"] = "Trace",
                ["Shelf:Mail:SmtpHost"] = "127.0.0.1", ["Shelf:Mail:SmtpPort"] = $"{((IPEndPoint)relay.LocalEndpoint).Port}",
                ["Shelf:Mail:SmtpSecurity"] = "none", ["Shelf:Mail:SmtpUser"] = "relay", ["Shelf:Mail:SmtpPassword"] = SmtpPassword,
            },
            Replace = services => services.AddLogging(l => l.AddProvider(log)),
        };
        await host.ClaimAsync();
        var visitor = host.Visitor();
        await visitor.PressAndStayAsync(await visitor.PageAsync("/sign-in"), "Send me the mail", ("Email", "dunlin@post.example"));
        await host.RunAsync<SendOutbox, OutboxRound>(send => send.RunAsync(default));
        var password = Convert.ToBase64String(Encoding.UTF8.GetBytes($"\0relay\0{SmtpPassword}"));
        Assert.Contains(password, await said, StringComparison.Ordinal); // the password did travel
        var trouble = await host.AskDbAsync(db => db.Outbox.Where(m => m.To == "dunlin@post.example").Select(m => m.LastError).SingleAsync());
        Assert.Contains("did not take the name and password", trouble, StringComparison.Ordinal);
        Assert.DoesNotContain(log.Lines, line => line.Contains(SmtpPassword, StringComparison.Ordinal) || line.Contains(password, StringComparison.Ordinal));
        await ShelfState.ForEachRowAsync(host, (_, row) => Assert.DoesNotContain(row, c => c.Value.Contains(SmtpPassword, StringComparison.Ordinal)));
    }

    /// <summary>Speaks SMTP (RFC 5321, AUTH PLAIN of RFC 4954) as far as a refusal; answers what the client said.</summary>
    private static async Task<string> RefuseAsync(TcpListener relay)
    {
        using var client = await relay.AcceptTcpClientAsync();
        using var reader = new StreamReader(client.GetStream(), Encoding.ASCII);
        await using var writer = new StreamWriter(client.GetStream(), Encoding.ASCII) { AutoFlush = true, NewLine = "\r\n" };
        await writer.WriteLineAsync("220 relay.example");
        var all = new StringBuilder();
        while (await reader.ReadLineAsync() is { } line)
        {
            all.AppendLine(line);
            if (line.StartsWith("QUIT", StringComparison.Ordinal)) break;
            await writer.WriteLineAsync(line.StartsWith("EHLO", StringComparison.Ordinal) ? "250-relay.example\r\n250 AUTH PLAIN" : "535 5.7.8 Not you");
        }
        return all.ToString();
    }

    private static string Base64(string text) => Convert.ToBase64String(Encoding.UTF8.GetBytes(text));

    private static async Task<List<(string What, string Value)>> WalkAsync(ShelfHost host)
    {
        var secrets = new List<(string What, string Value)> { ("the mail server's password", SmtpPassword), ("the maker's password", DoorWorld.Password) };
        var her = host.Visitor();

        var claim = (await host.RunAsync((OfferClaim offer) => offer.RunAsync(default)))!;
        secrets.Add(("the claim link", claim));
        using (var claimed = await her.PressAsync(await her.PageAsync("/workbench/claim/" + claim), "Claim the shelf",
            ("Email", ShelfHost.MakerEmail), ("Password", DoorWorld.Password), ("Shop.Name", "Tinworks"), ("Shop.Contact", ShelfHost.MakerEmail)))
        {
            Assert.Equal("/workbench", claimed.Headers.Location?.OriginalString);
            secrets.AddRange(Cookies(claimed));
        }
        var token = (await her.PressAndStayAsync(await her.PageAsync("/workbench/tokens"), "Make a token")).QuerySelector("#made-token")!.Words();
        secrets.Add(("an upload token", token));
        using (var machine = host.Visitor())
        {
            machine.DefaultRequestHeaders.Authorization = new("Bearer", token);
            (await machine.GetAsync(new Uri("/api/drafts/1", UriKind.Relative))).Dispose();
            machine.DefaultRequestHeaders.Authorization = new("Bearer", token + "-mistyped");
            (await machine.GetAsync(new Uri("/api/drafts/1", UriKind.Relative))).Dispose();
        }
        using (var wrong = await her.PostAsync(new Uri("/workbench/sign-in", UriKind.Relative), new FormUrlEncodedContent([new("Password", DoorWorld.Password)])))
            Assert.False(wrong.IsSuccessStatusCode);

        await SignInByMailAsync(host, secrets);
        var offered = Assert.IsType<OfferRecoveryOutcome.Offered>(
            await host.RunAsync<OfferRecovery, OfferRecoveryOutcome>(offer => offer.RunAsync(ShelfHost.MakerEmail, false, default)));
        secrets.Add(("the recovery link", offered.Token));
        await host.Visitor().PageAsync("/workbench/recover/" + offered.Token);
        await FetchAsync(host, secrets);
        return secrets;
    }

    private static async Task SignInByMailAsync(ShelfHost host, List<(string What, string Value)> secrets)
    {
        var member = host.Visitor();
        await member.PressAndStayAsync(await member.PageAsync("/sign-in"), "Send me the mail", ("Email", "dunlin@post.example"));
        // Read before it is sent: from then on the row forgets what it said. This walk has no mail server to hand it to.
        var text = await host.AskDbAsync(db => db.Outbox.Where(m => m.To == "dunlin@post.example").Select(m => m.Text).SingleAsync());
        var link = System.Text.RegularExpressions.Regex.Match(text, "/sign-in/([A-Za-z0-9_-]{43})", System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(1)).Groups[1].Value;
        var code = System.Text.RegularExpressions.Regex.Match(text, "[2-9A-Z]{4}-[2-9A-Z]{4}", System.Text.RegularExpressions.RegexOptions.None, TimeSpan.FromSeconds(1)).Value;
        secrets.AddRange([("a sign-in link", link), ("a sign-in code", code), ("a sign-in code as kept", code.Replace("-", "", StringComparison.Ordinal))]);
        await host.RunAsync<SendOutbox, OutboxRound>(send => send.RunAsync(default));
        using var pressed = await member.PressAsync(await member.PageAsync("/sign-in/" + link + "?return=%2Fmine"), "Sign in");
        Assert.Equal("/mine", pressed.Headers.Location?.OriginalString);
        secrets.AddRange(Cookies(pressed));
        var deleting = await member.PageAsync("/mine/delete");
        await member.PressAndStayAsync(deleting, deleting.QuerySelector("main form button")!.Words());
        var asked = await host.AskDbAsync(db => db.Outbox.Where(m => m.Text.Contains("/delete/")).Select(m => m.Text).SingleAsync());
        var delete = asked.Split("/delete/")[1][..43];
        secrets.Add(("a link to be deleted by", delete));
        await host.Visitor().PageAsync("/delete/" + delete);
        await host.RunAsync<SendOutbox, OutboxRound>(send => send.RunAsync(default));
        await member.PressAndStayAsync(await member.PageAsync("/mine/address"), "Send both mails", ("Email", "dunlin@moved.example"));
        foreach (var mailbox in new[] { "dunlin@post.example", "dunlin@moved.example" })
        {
            var token = (await host.NewestMailAsync(mailbox)).AddressToken;
            secrets.Add(("a link about another address", token));
            await host.Visitor().PageAsync("/address/" + token);
        }
    }

    /// <summary>An address as a download link has it; what its signature says does not matter to whoever logs it.</summary>
    private static async Task FetchAsync(ShelfHost host, List<(string What, string Value)> secrets)
    {
        const string signature = "a-signature-of-43-characters-as-a-link-has-it";
        secrets.Add(("a link's signature", signature));
        using var answer = await host.Visitor().GetAsync(new Uri($"/get/AAAAAAAAAAAAAAAAAAAAAA/Tin%201.0.0.zip?start-by=1&finish-by=2&key=1&sig={signature}", UriKind.Relative));
        Assert.False(answer.IsSuccessStatusCode);
    }

    private static IEnumerable<(string, string)> Cookies(HttpResponseMessage answer) => answer.Headers.GetValues("Set-Cookie")
        .Select(c => c.Split(';')[0].Split('=', 2)).Where(c => c[1].Length > 0).Select(c => ($"the cookie {c[0]}", c[1]));

    /// <summary>Asks for everything; what the host's own rules hold back does not come.</summary>
    private sealed class EverythingLogged : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Lines { get; } = new();

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Lines.Enqueue($"{formatter(state, exception)} {exception}");

        public void Dispose() { }
    }
}

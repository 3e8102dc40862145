using System.Buffers;
using System.Net;
using System.Net.Sockets;
using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;
using MimeKit;
using SmtpServer;
using SmtpServer.Authentication;
using SmtpServer.ComponentModel;
using SmtpServer.Mail;
using SmtpServer.Protocol;
using SmtpServer.Storage;

namespace LibraryShelf.Adapters.Tests.Mail;

/// <summary>Against a real SMTP server in this process: RFC 5321 §4.2.1, 4yz may be tried again, 5yz not.</summary>
public sealed class SmtpMailerTests
{
    [Fact]
    public async Task A_mail_arrives_whole()
    {
        await using var server = new TestServer();
        var mail = TestMail.To("wren@post.example");
        await Mailer(server.Port).SendAsync(mail, CancellationToken.None);
        using var stream = new MemoryStream(Assert.Single(server.Taken));
        using var message = await MimeMessage.LoadAsync(stream);
        Assert.Equal(mail.MessageId, message.MessageId);
        Assert.Equal(mail.Subject, message.Subject);
        // The test server counts the last line's end to the mark that ends the mail (RFC 5321 §4.1.1.4).
        Assert.Equal(mail.Text.TrimEnd(), message.TextBody!.ReplaceLineEndings("\n").TrimEnd());
        Assert.Equal(("Tinworks · Büro", "shelf@tinworks.example"), (message.From.Mailboxes.Single().Name, message.From.Mailboxes.Single().Address));
    }

    [Theory]
    [InlineData("later@post.example", false, "450")]
    [InlineData("never@post.example", true, "550")]
    [InlineData("full@post.example", false, "452")]
    [InlineData("spam@post.example", true, "554")]
    public async Task The_servers_answer_tells_whether_to_try_again(string to, bool isPermanent, string code)
    {
        await using var server = new TestServer();
        var refused = await Assert.ThrowsAsync<MailRefusedException>(() => Mailer(server.Port).SendAsync(TestMail.To(to), CancellationToken.None));
        Assert.Equal((isPermanent, false), (refused.IsPermanent, refused.IsAboutServer));
        Assert.Contains(code, refused.Message, StringComparison.Ordinal);
        Assert.Empty(server.Taken);
    }

    [Fact]
    public async Task A_server_that_is_not_there_puts_the_mail_off()
    {
        var refused = await Assert.ThrowsAsync<MailRefusedException>(() =>
            Mailer(FreePort()).SendAsync(TestMail.To("wren@post.example"), CancellationToken.None));
        Assert.Equal((false, true), (refused.IsPermanent, refused.IsAboutServer));
        Assert.Contains("could not be reached", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Name_and_password_are_used_and_a_wrong_one_does_not_throw_mails_away()
    {
        await using var server = new TestServer(password: "right");
        await Mailer(server.Port, "right").SendAsync(TestMail.To("wren@post.example"), CancellationToken.None);
        Assert.Single(server.Taken);
        var refused = await Assert.ThrowsAsync<MailRefusedException>(() =>
            Mailer(server.Port, "wrong").SendAsync(TestMail.To("wren@post.example"), CancellationToken.None));
        Assert.Equal((false, true), (refused.IsPermanent, refused.IsAboutServer));
    }

    private static SmtpMailer Mailer(int port, string? password = null) => new(Options.Create(new ShelfSettings
    {
        Mail = new()
        {
            SmtpHost = "127.0.0.1", SmtpPort = port, SmtpSecurity = "none",
            SmtpUser = password is null ? "" : "shelf", SmtpPassword = password ?? "",
        },
    }));

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private sealed class TestServer : MessageStore, IMailboxFilter, IUserAuthenticator, IAsyncDisposable
    {
        private readonly CancellationTokenSource _stop = new();
        private readonly Task _running;
        private readonly string? _password;

        public TestServer(string? password = null)
        {
            _password = password;
            Port = FreePort();
            var options = new SmtpServerOptionsBuilder().ServerName("test")
                .Endpoint(e => e.Port(Port).AllowUnsecureAuthentication().AuthenticationRequired(password is not null)).Build();
            var services = new ServiceProvider();
            services.Add((IMessageStore)this);
            services.Add((IMailboxFilter)this);
            services.Add((IUserAuthenticator)this);
            _running = new SmtpServer.SmtpServer(options, services).StartAsync(_stop.Token);
        }

        public int Port { get; }

        public List<byte[]> Taken { get; } = [];

        public override Task<SmtpResponse> SaveAsync(
            ISessionContext context, IMessageTransaction transaction, ReadOnlySequence<byte> buffer, CancellationToken cancellationToken)
        {
            switch (transaction.To[0].User)
            {
                case "full": return Task.FromResult(new SmtpResponse(SmtpReplyCode.InsufficientStorage, "full"));
                case "spam": return Task.FromResult(SmtpResponse.TransactionFailed);
                default:
                    Taken.Add(buffer.ToArray());
                    return Task.FromResult(SmtpResponse.Ok);
            }
        }

        public Task<bool> CanAcceptFromAsync(ISessionContext context, IMailbox from, int size, CancellationToken cancellationToken) => Task.FromResult(true);

        public Task<bool> CanDeliverToAsync(ISessionContext context, IMailbox to, IMailbox from, CancellationToken cancellationToken) => to.User switch
        {
            "later" => throw new SmtpResponseException(new SmtpResponse(SmtpReplyCode.MailboxUnavailable - 100, "busy")),
            "never" => Task.FromResult(false),
            _ => Task.FromResult(true),
        };

        public Task<bool> AuthenticateAsync(ISessionContext context, string user, string password, CancellationToken cancellationToken) =>
            Task.FromResult(user == "shelf" && password == _password);

        public async ValueTask DisposeAsync()
        {
            await _stop.CancelAsync();
            await _running;
            _stop.Dispose();
        }
    }
}

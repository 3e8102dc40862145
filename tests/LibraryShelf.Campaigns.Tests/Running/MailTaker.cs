using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>A mail server that takes every mail and remembers whom it was for and its Message-ID, as soon as it has said yes; as much of RFC 5321 as a client needs.</summary>
internal sealed class MailTaker : IDisposable
{
    private readonly TcpListener listener = new(IPAddress.Loopback, 0);
    private readonly ConcurrentDictionary<(string To, string MessageId), int> taken = new();

    public MailTaker()
    {
        listener.Start();
        _ = AcceptAsync();
    }

    /// <summary>How often each mail was taken.</summary>
    public IReadOnlyDictionary<(string To, string MessageId), int> Taken => taken;

    /// <summary>Settings that lead the program here.</summary>
    public string[] Arguments =>
        ["--Shelf:Mail:SmtpHost=127.0.0.1", $"--Shelf:Mail:SmtpPort={((IPEndPoint)listener.LocalEndpoint).Port}", "--Shelf:Mail:SmtpSecurity=none"];

    public void Forget() => taken.Clear();

    public void Dispose() => listener.Dispose();

    private async Task AcceptAsync()
    {
        try
        {
            while (true)
                _ = TalkAsync(await listener.AcceptTcpClientAsync());
        }
        catch (Exception e) when (e is SocketException or ObjectDisposedException)
        {
            // Nobody is awaited any more.
        }
    }

    private async Task TalkAsync(TcpClient client)
    {
        using (client)
        {
            try
            {
                await using var stream = client.GetStream();
                using var reader = new StreamReader(stream, Encoding.UTF8);
                await using var writer = new StreamWriter(stream, new UTF8Encoding(false)) { NewLine = "\r\n", AutoFlush = true };
                await writer.WriteLineAsync("220 taker.example");
                await TakeAsync(reader, writer);
            }
            // The program was killed while it spoke.
            catch (Exception e) when (e is IOException or SocketException)
            {
            }
        }
    }

    private async Task TakeAsync(StreamReader reader, StreamWriter writer)
    {
        var to = "";
        while (await reader.ReadLineAsync() is { } line)
        {
            var verb = line.Split(' ', ':')[0].ToUpperInvariant();
            if (verb == "RCPT")
                to = line[(line.IndexOf('<', StringComparison.Ordinal) + 1)..line.IndexOf('>', StringComparison.Ordinal)];
            if (verb == "DATA")
            {
                await writer.WriteLineAsync("354 go on");
                if (await MessageIdAsync(reader) is not { } id)
                    return;
                // Counted before it is said: a client that died meanwhile may or may not have heard it.
                taken.AddOrUpdate((to, id), 1, (_, times) => times + 1);
            }
            await writer.WriteLineAsync(verb == "QUIT" ? "221 bye" : "250 yes");
            if (verb == "QUIT")
                return;
        }
    }

    /// <summary>Null: the line broke before the mail's end.</summary>
    private static async Task<string?> MessageIdAsync(StreamReader reader)
    {
        const string Header = "Message-Id:";
        var id = "";
        while (await reader.ReadLineAsync() is { } line)
        {
            if (line == ".")
                return id;
            if (id.Length == 0 && line.StartsWith(Header, StringComparison.OrdinalIgnoreCase))
                id = line[Header.Length..].Trim() is { Length: > 0 } said ? said : (await reader.ReadLineAsync() ?? "").Trim();
        }
        return null;
    }
}

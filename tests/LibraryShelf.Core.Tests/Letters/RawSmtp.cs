using System.Net;
using System.Net.Sockets;
using System.Text;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>
/// A mail server of few words (RFC 5321 §3) that takes, puts off, refuses and, once for each address, wants to be asked again ("grey"), drops the line in the
/// middle of a message ("cut") or after it has taken it ("lost"), by the name before the @.
/// </summary>
internal sealed class RawSmtp : IAsyncDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _stop = new();
    private readonly Task _running;
    private readonly HashSet<string> _dropped = [];

    public RawSmtp()
    {
        _listener.Start();
        _running = Task.Run(RunAsync);
    }

    public int Port => ((IPEndPoint)_listener.LocalEndpoint).Port;

    /// <summary>Answers every sender "log in first".</summary>
    public bool WantsLogin { get; set; }

    /// <summary>How many senders were named.</summary>
    public int Senders { get; private set; }

    /// <summary>Whole messages, as they came.</summary>
    public List<byte[]> Taken { get; } = [];

    /// <summary>The first lines of those whose line was dropped.</summary>
    public List<string> Cut { get; } = [];

    private async Task RunAsync()
    {
        try
        {
            while (true)
            {
                using var client = await _listener.AcceptTcpClientAsync(_stop.Token);
                await TalkAsync(client.GetStream());
            }
        }
        catch (OperationCanceledException)
        {
            _listener.Stop();
        }
    }

    private async Task TalkAsync(NetworkStream stream)
    {
        // Latin-1 keeps every byte.
        using var reader = new StreamReader(stream, Encoding.Latin1);
        async Task SayAsync(string line) => await stream.WriteAsync(Encoding.ASCII.GetBytes(line + "\r\n"));
        var to = "";
        await SayAsync("220 test ready");
        while (await reader.ReadLineAsync() is { } line)
        {
            switch (line.Split(' ', ':')[0].ToUpperInvariant())
            {
                case "EHLO": await SayAsync("250-test\r\n250 ENHANCEDSTATUSCODES"); break;
                case "MAIL":
                    Senders++;
                    await SayAsync(WantsLogin ? "530 5.7.0 Authentication required" : "250 2.1.0 ok");
                    break;
                case "RCPT":
                    to = line[(line.IndexOf('<', StringComparison.Ordinal) + 1)..line.IndexOf('@', StringComparison.Ordinal)];
                    await SayAsync(to switch { "later" => "450 4.2.1 busy", "never" => "550 5.1.1 no such mailbox", "disliked" => "550 5.7.1 not from you", _ => "250 2.1.5 ok" });
                    break;
                case "DATA":
                    await SayAsync("354 go on");
                    if (to == "cut" && _dropped.Add(to))
                    {
                        Cut.Add(await ReadAsync(reader, line => line.StartsWith("Message-Id:", StringComparison.OrdinalIgnoreCase)));
                        return;
                    }
                    var message = await ReadAsync(reader, line => line == ".");
                    if (to == "grey" && _dropped.Add(to))
                    {
                        await SayAsync("451 4.7.1 greylisted, come again");
                        break;
                    }
                    Taken.Add(Encoding.Latin1.GetBytes(message));
                    if (to == "lost" && _dropped.Add(to))
                        return;
                    await SayAsync("250 2.0.0 taken");
                    break;
                case "QUIT": await SayAsync("221 bye"); return;
                default: await SayAsync("250 2.0.0 ok"); break;
            }
        }
    }

    /// <summary>Without the dot that ends a message, and with the doubled dots of its lines single again (RFC 5321 §4.5.2).</summary>
    private static async Task<string> ReadAsync(StreamReader reader, Func<string, bool> isLast)
    {
        var lines = new StringBuilder();
        while (await reader.ReadLineAsync() is { } line)
        {
            if (line != ".")
                lines.Append(line.StartsWith("..", StringComparison.Ordinal) ? line[1..] : line).Append("\r\n");
            if (isLast(line))
                break;
        }
        return lines.ToString();
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _running;
        _stop.Dispose();
    }
}

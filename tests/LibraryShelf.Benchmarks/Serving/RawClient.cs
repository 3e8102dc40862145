using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>
/// The lightest HTTP/1.1 client there can be, the same for every rival: one connection, answers read and thrown away. Any answer
/// but the expected status ends the run.
/// </summary>
internal sealed class RawClient(Uri address) : IDisposable
{
    private const int BufferBytes = 256 * 1024;
    private readonly Socket socket = Connect(address);
    private readonly byte[] buffer = new byte[BufferBytes];

    /// <summary>Asks for the whole, or for <paramref name="count"/> bytes from <paramref name="from"/>; answers how many came.</summary>
    public async Task<long> GetAsync(string path, long? from = null, long count = 0)
    {
        await SendAsync(path, from, count);
        var (length, taken) = await HeadAsync(from is null ? "200" : "206");
        while (taken < length)
        {
            var read = await socket.ReceiveAsync(buffer, SocketFlags.None);
            taken += read > 0 ? read : throw new InvalidOperationException($"{path} broke off after {taken} of {length} bytes.");
        }
        return length;
    }

    public async Task SendAsync(string path, long? from = null, long count = 0)
    {
        var range = from is { } first ? string.Create(CultureInfo.InvariantCulture, $"Range: bytes={first}-{first + count - 1}\r\n") : "";
        await socket.SendAsync(Encoding.ASCII.GetBytes($"GET {path} HTTP/1.1\r\nHost: {address.Authority}\r\n{range}\r\n"), SocketFlags.None);
    }

    /// <summary>Reads at most so many bytes of whatever comes.</summary>
    public ValueTask<int> SipAsync(int most) => socket.ReceiveAsync(buffer.AsMemory(0, most), SocketFlags.None);

    public void Dispose() => socket.Dispose();

    private async Task<(long Length, long Taken)> HeadAsync(string status)
    {
        for (var have = 0; ;)
        {
            var read = await socket.ReceiveAsync(buffer.AsMemory(have), SocketFlags.None);
            have += read > 0 ? read : throw new InvalidOperationException("The server closed the connection.");
            var end = buffer.AsSpan(0, have).IndexOf("\r\n\r\n"u8);
            if (end < 0)
                continue;
            var head = Encoding.ASCII.GetString(buffer, 0, end);
            if (!head.StartsWith("HTTP/1.1 " + status, StringComparison.Ordinal))
                throw new InvalidOperationException($"Not a {status}:\n{head}");
            return (LengthOf(head), have - end - 4);
        }
    }

    private static long LengthOf(string head) => long.Parse(
        head.Split("\r\n").First(l => l.StartsWith("Content-Length:", StringComparison.OrdinalIgnoreCase))[15..].Trim(), CultureInfo.InvariantCulture);

    private static Socket Connect(Uri address)
    {
        var connected = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
        connected.Connect(new IPEndPoint(IPAddress.Loopback, address.Port));
        return connected;
    }
}

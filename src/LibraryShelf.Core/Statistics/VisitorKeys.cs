using System.Buffers.Text;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Text;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Tells visitors of one day apart without knowing them: a hash of their network (/24 of IPv4, /64 of IPv6, where an address changes hands) and of what their
/// program calls itself, under a key that is in memory only and thrown away after midnight, UTC, by the next sweep or visitor, and with the program's end. Nobody can tell from two
/// days' hashes whether they are one visitor's, nor try out which network gives one.
/// </summary>
public sealed class VisitorKeys(TimeProvider clock)
{
    private const int HashBytes = 12;

    private readonly Lock _lock = new();
    private byte[] _key = [];
    private LocalDate _day;

    /// <param name="address">Where the request came from; null: not known, and the program alone tells.</param>
    /// <param name="userAgent">As sent; "" none.</param>
    /// <returns>16 characters.</returns>
    public string Of(IPAddress? address, string userAgent)
    {
        byte[] said = [.. NetworkOf(address), 0, .. Encoding.UTF8.GetBytes(userAgent)];
        return Base64Url.EncodeToString(Hash(said).AsSpan(0, HashBytes));
    }

    /// <summary>Throws away the key of a day that is over, though no visitor has come since.</summary>
    public void DropOld()
    {
        lock (_lock)
        {
            if (_day == Today)
                return;
            CryptographicOperations.ZeroMemory(_key);
            _key = [];
        }
    }

    /// <summary>The first three bytes of IPv4, the first eight of IPv6; none when not known.</summary>
    internal static byte[] NetworkOf(IPAddress? address)
    {
        if (address is null)
            return [];
        var plain = address.IsIPv4MappedToIPv6 ? address.MapToIPv4() : address;
        return plain.GetAddressBytes()[..(plain.AddressFamily == AddressFamily.InterNetwork ? 3 : 8)];
    }

    private LocalDate Today => Instant.FromDateTimeOffset(clock.GetUtcNow()).InUtc().Date;

    internal bool HasKey { get { lock (_lock) return _key.Length > 0; } }

    private byte[] Hash(byte[] said)
    {
        lock (_lock)
        {
            var today = Today;
            if (_key.Length == 0 || _day != today)
                (_key, _day) = (RandomNumberGenerator.GetBytes(32), today);
            return HMACSHA256.HashData(_key, said);
        }
    }
}

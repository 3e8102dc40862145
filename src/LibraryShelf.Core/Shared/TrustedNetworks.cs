using System.Net;

namespace LibraryShelf.Core.Shared;

/// <summary>Whom the shelf believes what they say about those they speak for: the setting Shelf:BehindProxy.</summary>
public static class TrustedNetworks
{
    private static readonly IPNetwork[] Loopback = [IPNetwork.Parse("127.0.0.0/8"), IPNetwork.Parse("::1/128")];

    /// <summary>RFC 1918, RFC 4193 and the link's own (RFC 3927, RFC 4291 §2.5.6): where containers and their hosts see each other.</summary>
    private static readonly IPNetwork[] Private =
    [
        .. Loopback, IPNetwork.Parse("10.0.0.0/8"), IPNetwork.Parse("172.16.0.0/12"), IPNetwork.Parse("192.168.0.0/16"), IPNetwork.Parse("169.254.0.0/16"),
        IPNetwork.Parse("fc00::/7"), IPNetwork.Parse("fe80::/10"),
    ];

    /// <param name="words">"loopback", "private", networks such as 10.4.0.0/16 and single addresses, with commas between.</param>
    /// <returns>Empty: nobody. Null: a word that is none of these.</returns>
    public static IReadOnlyList<IPNetwork>? Read(string words)
    {
        ArgumentNullException.ThrowIfNull(words);
        var networks = new List<IPNetwork>();
        foreach (var word in words.Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
        {
            if (word == "loopback")
                networks.AddRange(Loopback);
            else if (word == "private")
                networks.AddRange(Private);
            else if (IPNetwork.TryParse(word, out var network))
                networks.Add(network);
            else if (IPAddress.TryParse(word, out var one))
                networks.Add(new IPNetwork(one, one.GetAddressBytes().Length * 8));
            else
                return null;
        }
        return networks;
    }
}

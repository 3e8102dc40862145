using System.Net;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The shelf's own address for links that are mailed or copied: the setting's, else the request's. The Host header is written by
/// whoever asks, so a request's address goes into a mail only where that can't lead a secret to a stranger: on this machine, or
/// where AllowedHosts says which names are ours.
/// </summary>
internal sealed class PublicAddress(IOptions<ShelfSettings> settings, IConfiguration configuration)
{
    /// <summary>Without a slash at its end; null: no address that may go into a mail.</summary>
    public string? ForMail(HttpRequest request) =>
        Set ?? (IsLocal(request.Host) || HasAllowedHosts ? Of(request) : null);

    /// <summary>To show to the one who asked; without a slash at its end.</summary>
    public string ForPage(HttpRequest request) => Set ?? Of(request);

    /// <summary>The setting's, for a mail nobody asked for; without a slash at its end, null when it is not set.</summary>
    public string? Set => settings.Value.PublicUrl.TrimEnd('/') is { Length: > 0 } set ? set : null;

    /// <summary>To print at the server itself; without a slash at its end.</summary>
    /// <param name="listening">Where the server listens, as it says.</param>
    public static string AtTheServer(ShelfSettings settings, string? listening)
    {
        if (settings.PublicUrl.TrimEnd('/') is { Length: > 0 } set)
            return set;
        return Reachable(listening ?? "http://localhost:5080");
    }

    /// <summary>"Every address of this machine" is nothing that can be opened.</summary>
    /// <returns>Without a slash at its end.</returns>
    internal static string Reachable(string listening) =>
        listening.TrimEnd('/')
            .Replace("//[::]", "//localhost", StringComparison.Ordinal)
            .Replace("//0.0.0.0", "//localhost", StringComparison.Ordinal)
            .Replace("//*", "//localhost", StringComparison.Ordinal)
            .Replace("//+", "//localhost", StringComparison.Ordinal);

    private bool HasAllowedHosts => configuration["AllowedHosts"] is { Length: > 0 } hosts && !hosts.Contains('*', StringComparison.Ordinal);

    private static string Of(HttpRequest request) => $"{request.Scheme}://{request.Host}{request.PathBase}";

    internal static bool IsLocal(HostString host) =>
        string.Equals(host.Host, "localhost", StringComparison.OrdinalIgnoreCase)
        || (IPAddress.TryParse(host.Host.Trim('[', ']'), out var address) && IPAddress.IsLoopback(address));
}

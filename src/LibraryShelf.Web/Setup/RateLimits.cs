using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Threading.RateLimiting;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>How often one network address may knock at the doors where guessing or mailing could be abused.</summary>
internal static class RateLimits
{
    /// <summary>For pages that sign in: counts what is sent, not what is looked at.</summary>
    public const string Doors = "doors";

    private static readonly TimeSpan Window = TimeSpan.FromMinutes(10);

    public static void AddShelfRateLimits(this IServiceCollection services) => services.AddRateLimiter(limits =>
    {
        limits.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        limits.OnRejected = (context, _) =>
        {
            if (context.Lease.TryGetMetadata(MetadataName.RetryAfter, out var wait))
                context.HttpContext.Response.Headers.RetryAfter = Math.Ceiling(wait.TotalSeconds).ToString(CultureInfo.InvariantCulture);
            return ValueTask.CompletedTask;
        };
        limits.AddPolicy(Doors, context => HttpMethods.IsPost(context.Request.Method)
            ? RateLimitPartition.GetFixedWindowLimiter(Network(context.Connection.RemoteIpAddress), _ => new FixedWindowRateLimiterOptions
            {
                Window = Window,
                PermitLimit = context.RequestServices.GetRequiredService<IOptions<ShelfSettings>>().Value.SignIn.MostTries,
            })
            : RateLimitPartition.GetNoLimiter("looking"));
    });

    /// <summary>A household or one server: an IPv4 address, or the first 64 bits of an IPv6 one. Held in memory only.</summary>
    internal static string Network(IPAddress? address)
    {
        if (address is null)
            return "unknown";
        if (address.IsIPv4MappedToIPv6)
            address = address.MapToIPv4();
        return address.AddressFamily == AddressFamily.InterNetworkV6
            ? Convert.ToHexStringLower(address.GetAddressBytes().AsSpan(0, 8))
            : address.ToString();
    }
}

using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Threading.RateLimiting;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>How often one network address, or one person, may knock where guessing, mailing or filling tables could be abused.</summary>
internal static class RateLimits
{
    /// <summary>For pages that sign in: counts what is sent, not what is looked at.</summary>
    public const string Doors = "doors";

    /// <summary>
    /// For the page that leaves: counts what is sent. Wider than <see cref="Doors"/> and counted apart, because whoever shares a network with many must
    /// be able to leave; the links are too long to guess.
    /// </summary>
    public const string Leaving = "leaving";

    /// <summary>For the way back from the payment page, by network: each look asks the payment provider.</summary>
    public const string Returning = "returning";

    /// <summary>For pages that make download links: counts pressed buttons.</summary>
    public const string Links = "links";

    /// <summary>For the page that takes told faults, also from visitors: counts what is sent.</summary>
    public const string Faults = "faults";

    /// <summary>A press, or a way back, asks the payment provider, so there is an end to them.</summary>
    private const int MostLeaving = 300;

    private static readonly TimeSpan Window = TimeSpan.FromMinutes(10);

    public static void AddShelfRateLimits(this IServiceCollection services)
    {
        services.AddSingleton<WrongTokens>();
        services.AddRateLimiter(limits =>
        {
            limits.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
            limits.OnRejected = (context, _) =>
            {
                SayWhen(context.HttpContext.Response, context.Lease);
                return ValueTask.CompletedTask;
            };
            limits.AddPolicy(Doors, context => Sent(context, Network(context.Connection.RemoteIpAddress), s => s.SignIn.MostTries));
            limits.AddPolicy(Leaving, context => Sent(context, Person(context), _ => MostLeaving));
            limits.AddPolicy(Returning, context => RateLimitPartition.GetFixedWindowLimiter(
                Network(context.Connection.RemoteIpAddress), _ => PerWindow(MostLeaving)));
            limits.AddPolicy(Links, context => Sent(context, Person(context), s => s.Links.MostMade));
            limits.AddPolicy(Faults, context => Sent(context, Person(context), s => s.Faults.MostTold));
        });
    }

    /// <summary>Retry-After in whole seconds (RFC 9110 §10.2.3); the page with words reads it too.</summary>
    public static void SayWhen(HttpResponse response, RateLimitLease lease)
    {
        if (lease.TryGetMetadata(MetadataName.RetryAfter, out var wait))
            response.Headers.RetryAfter = Math.Max(1, Math.Ceiling(wait.TotalSeconds)).ToString(CultureInfo.InvariantCulture);
    }

    public static FixedWindowRateLimiterOptions PerWindow(int most) => new() { Window = Window, PermitLimit = most };

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

    private static string Person(HttpContext context) => context.User.PersonId() is { } id
        ? string.Create(CultureInfo.InvariantCulture, $"person {id}")
        : Network(context.Connection.RemoteIpAddress);

    private static RateLimitPartition<string> Sent(HttpContext context, string who, Func<ShelfSettings, int> most) =>
        HttpMethods.IsPost(context.Request.Method)
            ? RateLimitPartition.GetFixedWindowLimiter(who, _ => PerWindow(most(context.RequestServices.GetRequiredService<IOptions<ShelfSettings>>().Value)))
            : RateLimitPartition.GetNoLimiter("looking");
}

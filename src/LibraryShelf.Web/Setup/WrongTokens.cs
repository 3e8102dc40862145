using System.Net;
using System.Threading.RateLimiting;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Wrong upload tokens by network address. Once a network has shown too many, none of its tokens is looked up until the window ends.
/// </summary>
internal sealed class WrongTokens(IOptions<ShelfSettings> settings) : IDisposable
{
    private readonly PartitionedRateLimiter<IPAddress?> _wrong = PartitionedRateLimiter.Create<IPAddress?, string>(address =>
        RateLimitPartition.GetFixedWindowLimiter(RateLimits.Network(address), _ => RateLimits.PerWindow(settings.Value.SignIn.MostTries)));

    /// <summary>Not acquired when this network has no tries left; says when it will.</summary>
    public RateLimitLease Look(IPAddress? address) => _wrong.AttemptAcquire(address, permitCount: 0);

    public void Note(IPAddress? address) => _wrong.AttemptAcquire(address).Dispose();

    public void Dispose() => _wrong.Dispose();
}

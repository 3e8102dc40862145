using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;

namespace LibraryShelf.Web.Practice;

/// <summary>The way from this program to its own address over real HTTP; in tests another carrier is given.</summary>
internal sealed class WayHome(IServer server, IConfiguration configuration, Func<HttpMessageHandler>? carrier = null)
{
    /// <summary>What its clients are told; the real address is known only once the server listens.</summary>
    public static readonly Uri Somewhere = new("http://practice.invalid");

    public HttpMessageHandler Open() => new Rewriting(carrier is null ? Address : () => new Uri("http://localhost"), OwnName())
    {
        InnerHandler = carrier?.Invoke() ?? new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false, UseProxy = false },
    };

    private Uri Address()
    {
        var listening = server.Features.Get<IServerAddressesFeature>()?.Addresses ?? [];
        // Without TLS where there is a choice: on this machine the certificate is for another name.
        var first = listening.OrderBy(a => a.StartsWith("https:", StringComparison.OrdinalIgnoreCase)).FirstOrDefault()
            ?? throw new HttpRequestException("The shelf does not listen yet.");
        return new Uri(PublicAddress.Reachable(first));
    }

    /// <summary>Where only certain names are let in, one of them.</summary>
    private string? OwnName() =>
        (configuration["AllowedHosts"] ?? "").Split(';', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries) is { Length: > 0 } names
            && !names.Contains("*", StringComparer.Ordinal) ? names[0].Replace("*.", "practice.", StringComparison.Ordinal) : null;

    private sealed class Rewriting(Func<Uri> address, string? name) : DelegatingHandler
    {
        protected override Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            request.RequestUri = new Uri(address(), request.RequestUri!.PathAndQuery);
            request.Headers.Host = name;
            return base.SendAsync(request, cancellationToken);
        }
    }
}

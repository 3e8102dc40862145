using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.HttpOverrides;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Who really asks, when a reverse proxy does the asking: by its word only where <see cref="ShelfSettings.BehindProxy"/> trusts it, because anybody
/// can write that header, and sign-ins are counted by it.
/// </summary>
internal static class ProxySetup
{
    public static void UseShelfProxy(this WebApplication app)
    {
        var trusted = TrustedNetworks.Read(app.Services.GetRequiredService<IOptions<ShelfSettings>>().Value.BehindProxy) ?? [];
        if (trusted.Count > 0)
            app.UseForwardedHeaders(Believing(trusted));
        var isTold = 0;
        app.Use((context, rest) =>
        {
            if (IsUnheeded(context.Request.Headers) && Interlocked.Exchange(ref isTold, 1) == 0)
                app.Logger.LogWarning(
                    "A request came with X-Forwarded-For that is not believed. If a proxy stands in front of this shelf, set Shelf:BehindProxy to where it is (such as loopback): "
                    + "until then all visitors count as one, and one stranger's wrong sign-ins shut everybody out");
            return rest(context);
        });
    }

    /// <summary>One proxy's word: what stood in the header before came from whoever asked it.</summary>
    private static ForwardedHeadersOptions Believing(IReadOnlyList<System.Net.IPNetwork> trusted)
    {
        var options = new ForwardedHeadersOptions { ForwardedHeaders = ForwardedHeaders.XForwardedFor | ForwardedHeaders.XForwardedProto, ForwardLimit = 1 };
        options.KnownProxies.Clear();
        options.KnownIPNetworks.Clear();
        foreach (var network in trusted)
            options.KnownIPNetworks.Add(network);
        return options;
    }

    /// <summary>The platform writes X-Original-For where it believed.</summary>
    internal static bool IsUnheeded(IHeaderDictionary headers) =>
        headers.ContainsKey(ForwardedHeadersDefaults.XForwardedForHeaderName) && !headers.ContainsKey(ForwardedHeadersDefaults.XOriginalForHeaderName);
}

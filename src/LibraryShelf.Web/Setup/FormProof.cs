using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Endpoints;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// That a form was sent from a page of the shelf's own. Who is signed in proves it by a token in the form and the cookie that belongs
/// to it. Who is not gets neither, so that looking sets no cookie: their browser itself says where the form came from, in headers no page can write
/// (Sec-Fetch-Site, W3C Fetch Metadata §2.4; on plain http, where that is not sent, Origin, WHATWG Fetch §3.2). Who says nothing is refused.
/// </summary>
internal sealed class FormProof(IAntiforgery tokens, IOptions<ShelfSettings> settings) : IAntiforgery
{
    private const string FetchSite = "Sec-Fetch-Site";

    public AntiforgeryTokenSet GetAndStoreTokens(HttpContext httpContext)
    {
        if (NeedsTokens(httpContext))
            return tokens.GetAndStoreTokens(httpContext);
        KeepNowhere(httpContext);
        return None;
    }

    public AntiforgeryTokenSet GetTokens(HttpContext httpContext) => NeedsTokens(httpContext) ? tokens.GetTokens(httpContext) : None;

    public async Task<bool> IsRequestValidAsync(HttpContext httpContext) =>
        NeedsTokens(httpContext) ? await tokens.IsRequestValidAsync(httpContext) : IsLook(httpContext.Request) || IsFromHere(httpContext.Request);

    public void SetCookieTokenAndHeader(HttpContext httpContext)
    {
        if (NeedsTokens(httpContext))
            tokens.SetCookieTokenAndHeader(httpContext);
    }

    /// <exception cref="AntiforgeryValidationException">The form was not proved to be from here.</exception>
    public async Task ValidateRequestAsync(HttpContext httpContext)
    {
        if (NeedsTokens(httpContext))
            await tokens.ValidateRequestAsync(httpContext);
        else if (!IsFromHere(httpContext.Request))
            throw new AntiforgeryValidationException($"{FetchSite}={httpContext.Request.Headers[FetchSite]}, Origin={httpContext.Request.Headers.Origin}");
    }

    /// <summary>Whether forms carry a token for whoever asks.</summary>
    public static bool NeedsTokens(HttpContext context) => context.User.Identity is { IsAuthenticated: true };

    /// <summary>
    /// As the platform asks of pages with a token: kept by no browser. Else who signs in and goes back would press on a page that was made before; and
    /// pages behind mailed links name people.
    /// </summary>
    internal static void KeepNowhere(HttpContext context)
    {
        if (context.Response.HasStarted)
            return;
        context.Response.Headers.CacheControl = "no-cache, no-store";
        context.Response.Headers.Pragma = "no-cache";
    }

    private static AntiforgeryTokenSet None => new(null, null, SenderGuard.Field, SenderGuard.Header);

    private static bool IsLook(HttpRequest request) =>
        HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method) || HttpMethods.IsOptions(request.Method) || HttpMethods.IsTrace(request.Method);

    /// <summary>Another site under the same domain ("same-site") is another site. "none" is the person's own doing, as when a browser sends a form anew after it was closed.</summary>
    private bool IsFromHere(HttpRequest request) => request.Headers[FetchSite].ToString() switch
    {
        "same-origin" or "none" => true,
        "" => Uri.TryCreate(request.Headers.Origin, UriKind.Absolute, out var origin) && IsOurs(origin, request),
        _ => false,
    };

    /// <summary>By name and port: behind a proxy that speaks TLS the shelf may hear http. Where people reach it by https, a page of plain http is none of its own: anybody on the way can write one.</summary>
    private bool IsOurs(Uri origin, HttpRequest request)
    {
        var address = Uri.TryCreate(settings.Value.PublicUrl, UriKind.Absolute, out var set) ? set : null;
        if ((request.IsHttps || address?.Scheme == Uri.UriSchemeHttps) && origin.Scheme != Uri.UriSchemeHttps)
            return false;
        return string.Equals(origin.Authority, WithoutUsualPort(request.Host, origin.Scheme), StringComparison.OrdinalIgnoreCase)
            || string.Equals(origin.Authority, address?.Authority, StringComparison.OrdinalIgnoreCase);
    }

    private static string WithoutUsualPort(HostString host, string scheme) =>
        (scheme, host.Port) is ("http", 80) or ("https", 443) ? host.Host : host.Value ?? "";

    /// <summary>Puts this before the platform's tokens.</summary>
    public static void AddTo(IServiceCollection services)
    {
        services.AddAntiforgery(o => o.Cookie.Name = "shelf-form");
        var platforms = services.Last(s => s.ServiceType == typeof(IAntiforgery)).ImplementationType!;
        services.Replace(ServiceDescriptor.Singleton<IAntiforgery>(s =>
            new FormProof((IAntiforgery)ActivatorUtilities.CreateInstance(s, platforms), s.GetRequiredService<IOptions<ShelfSettings>>())));
        services.Replace(ServiceDescriptor.Singleton<IHtmlGenerator, FormFields>());
    }
}

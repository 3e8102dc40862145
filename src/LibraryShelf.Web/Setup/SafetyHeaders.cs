using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// What every answer carries, whoever wrote it: pages, files, redirects, refusals, faults. Stands outermost, and writes at the last
/// moment, because a fault clears the headers and a request for another host never reaches the site's own pipeline.
/// </summary>
internal sealed class SafetyHeaders(IOptions<ShelfSettings> settings) : IStartupFilter
{
    /// <summary>Under this key a page says, in the request's items, where its form may lead besides home: to the payment page.</summary>
    public const string FormsMayLeadTo = nameof(FormsMayLeadTo);

    /// <summary>Under this key a page says that its answer is a mail as mail programs show it, with its style inside.</summary>
    public const string IsMail = "is mail";

    /// <summary>
    /// For that answer: the styles of our own mails, each by its hash (CSP Level 3 §6.7.3.3: 'unsafe-hashes' lets attributes be among them), and nothing else, as
    /// somebody else's page, without script and forms.
    /// </summary>
    private static readonly string MailPolicy =
        $"default-src 'none'; style-src 'unsafe-hashes' {string.Join(' ', MailHtml.Styles.Select(HashOf))}; form-action 'none'; base-uri 'none'; frame-ancestors 'none'; sandbox";

    private const string FormsGoHome = "form-action 'self'";

    /// <summary>Own files only, nothing inline, no frames; forms post home.</summary>
    private const string ContentSecurityPolicy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
        + "media-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

    /// <summary>What no page here needs; passkeys, and a keyboard that somebody has beside them, are for our own pages alone.</summary>
    private const string Permissions =
        "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), magnetometer=(), microphone=(), payment=(), "
        + "usb=(), midi=(self), publickey-credentials-create=(self), publickey-credentials-get=(self)";

    /// <summary>A year (RFC 6797 §6.1.1, seconds). Not for sub-domains, which may be somebody else's.</summary>
    private const string StrictTransport = "max-age=31536000";

    private readonly Uri? _public = Uri.TryCreate(settings.Value.PublicUrl, UriKind.Absolute, out var address) ? address : null;

    public Action<IApplicationBuilder> Configure(Action<IApplicationBuilder> next) => app =>
    {
        app.Use((context, rest) =>
        {
            context.Response.OnStarting(Write, context);
            return rest(context);
        });
        next(app);
    };

    private static string HashOf(string style) => $"'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(style)))}'";

    private Task Write(object state)
    {
        var context = (HttpContext)state;
        var headers = context.Response.Headers;
        headers.ContentSecurityPolicy = context.Items.ContainsKey(IsMail) ? MailPolicy : context.Items.TryGetValue(FormsMayLeadTo, out var origin) && origin is string place
            ? ContentSecurityPolicy.Replace(FormsGoHome, $"{FormsGoHome} {place}", StringComparison.Ordinal)
            : ContentSecurityPolicy;
        headers.XContentTypeOptions = "nosniff";
        // Addresses here carry sign-in tokens and signed links: no path is told to anybody, not even with a page's own files, because a proxy may log referrers.
        // The shelf's name is, because without it a form says that it came from nowhere, and a passkey is refused that comes from nowhere.
        headers["Referrer-Policy"] = "strict-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Permissions-Policy"] = Permissions;
        if (IsTakenOverTls(context.Request))
            headers.StrictTransportSecurity = StrictTransport;
        return Task.CompletedTask;
    }

    /// <summary>The browser's own connection is encrypted, as far as we can know behind a proxy; never for this machine by name.</summary>
    private bool IsTakenOverTls(HttpRequest request) =>
        !PublicAddress.IsLocal(request.Host)
        && (request.IsHttps || (_public is { Scheme: "https" } && string.Equals(_public.Host, request.Host.Host, StringComparison.OrdinalIgnoreCase)));
}

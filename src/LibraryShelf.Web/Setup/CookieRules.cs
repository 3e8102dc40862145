using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.CookiePolicy;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Rules for every cookie, whichever part of the platform sets it: no script reads it, no other site's form sends it along, and
/// where the shelf is reached by https it goes by https alone. No "__Host-" names: browsers take those only as Secure, and not
/// every one does so from http://localhost, where a shelf begins.
/// </summary>
internal static class CookieRules
{
    public static CookiePolicyOptions For(IServiceProvider services) => new()
    {
        HttpOnly = HttpOnlyPolicy.Always,
        MinimumSameSitePolicy = SameSiteMode.Lax,
        Secure = services.GetRequiredService<IOptions<ShelfSettings>>().Value.PublicUrl.StartsWith("https://", StringComparison.OrdinalIgnoreCase)
            ? CookieSecurePolicy.Always
            : CookieSecurePolicy.SameAsRequest,
    };
}

using System.Globalization;
using System.Security.Claims;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Each cookie names the row of its device. Whichever way somebody signs in, the row is written when the cookie is; with the stamp, once a minute,
/// the cookie is held against it and refused when the row has ended.
/// </summary>
internal sealed class DeviceCheck(
    IOptions<SecurityStampValidatorOptions> options, SignInManager<Person> signIn, ILoggerFactory logs, SeeDevice see)
    : SecurityStampValidator<Person>(options, signIn, logs)
{
    public static async Task NameDeviceAsync(CookieSigningInContext context)
    {
        if (context.Principal?.PersonId() is not { } personId)
            return;
        var start = context.HttpContext.RequestServices.GetRequiredService<StartDevice>();
        var id = await start.RunAsync(personId, Words(context.HttpContext), context.HttpContext.User.DeviceId(), context.HttpContext.RequestAborted);
        Name(context.Principal, id);
    }

    protected override async Task SecurityStampVerified(Person user, CookieValidatePrincipalContext context)
    {
        var http = context.HttpContext;
        var signedInAt = context.Properties.IssuedUtc ?? TimeProvider.GetUtcNow();
        if (await see.RunAsync(user.Id, context.Principal?.DeviceId(), Words(http), signedInAt, http.RequestAborted) is not { } id)
        {
            context.RejectPrincipal();
            await SignInManager.SignOutAsync();
            return;
        }
        // Makes the principal anew from the person's row, without the device.
        await base.SecurityStampVerified(user, context);
        Name(context.Principal!, id);
    }

    private static string Words(HttpContext context) => Browsers.Of(context.Request.Headers.UserAgent);

    private static void Name(ClaimsPrincipal principal, long deviceId)
    {
        if (principal.Identity is ClaimsIdentity identity && !principal.HasClaim(c => c.Type == Policies.DeviceClaim))
            identity.AddClaim(new Claim(Policies.DeviceClaim, deviceId.ToString(CultureInfo.InvariantCulture)));
    }
}

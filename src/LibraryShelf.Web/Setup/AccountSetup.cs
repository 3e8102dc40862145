using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

internal static class AccountSetup
{
    public const string CookieName = "shelf-person";

    public static void AddShelfAccounts(this WebApplicationBuilder builder)
    {
        builder.Services.AddIdentityCore<Person>(Rules)
            .AddEntityFrameworkStores<ShelfDb>()
            .AddClaimsPrincipalFactory<PersonClaims>()
            .AddSignInManager();
        builder.Services.AddScoped<ISecurityStampValidator, DeviceCheck>();
        builder.Services.Configure<PasswordHasherOptions>(o => o.IterationCount = PasswordIterations);
        builder.Services.AddOptions<SecurityStampValidatorOptions>()
            .Configure<TimeProvider>((o, clock) => (o.ValidationInterval, o.TimeProvider) = (StampChecked, clock));
        var authentication = builder.Services.AddAuthentication(IdentityConstants.ApplicationScheme);
        authentication.AddApplicationCookie().Configure(Cookie);
        // The platform keeps the challenge of a passkey in the first, and takes both away when a sign-in has ended.
        authentication.AddTwoFactorUserIdCookie().Configure(o => o.Cookie.Name = "shelf-passkey");
        authentication.AddTwoFactorRememberMeCookie();
        authentication.AddScheme<AuthenticationSchemeOptions, UploadTokenHandler>(Policies.UploadTokenScheme, null);
        builder.Services.AddAuthorization(Policies.Register);
        builder.Services.AddShelfRateLimits();
        builder.Services.AddSingleton<PublicAddress>();
        builder.Services.AddScoped<PasskeyDoor>();
        builder.Services.AddOptions<IdentityPasskeyOptions>().Configure<IOptions<ShelfSettings>>(PasskeyRules);
        builder.Services.AddHostedService<ClaimOffer>();
        // After, because adding Razor Pages starts with an empty list of conventions.
        builder.Services.PostConfigure<RazorPagesOptions>(GuardWorkbench);
    }

    /// <summary>PBKDF2 with HMAC-SHA-512, OWASP's floor (Password Storage Cheat Sheet).</summary>
    private const int PasswordIterations = 210_000;

    /// <summary>How long a sign-in may outlive a changed password, a recovery or a signing out from afar: each cookie is held against its rows this often.</summary>
    private static readonly TimeSpan StampChecked = TimeSpan.FromMinutes(1);

    /// <summary>
    /// A passkey is tied to the shelf's name (the RP id): the setting's when there is one, else the request's, which the browser
    /// checks. It names its owner by itself, and its device asks for a finger, a face or a code.
    /// </summary>
    private static void PasskeyRules(IdentityPasskeyOptions options, IOptions<ShelfSettings> settings)
    {
        options.ResidentKeyRequirement = "required";
        options.UserVerificationRequirement = "required";
        if (Uri.TryCreate(settings.Value.PublicUrl, UriKind.Absolute, out var address) && address.HostNameType == UriHostNameType.Dns)
            options.ServerDomain = address.Host;
    }

    private static void Rules(IdentityOptions options)
    {
        options.Stores.SchemaVersion = IdentitySchemaVersions.Version3;
        options.User.RequireUniqueEmail = true;
        // Length is what counts (NIST SP 800-63B §5.1.1.2): no rules about kinds of characters.
        options.Password = new PasswordOptions
        {
            RequiredLength = ClaimShelf.ShortestPassword,
            RequireDigit = false,
            RequireLowercase = false,
            RequireUppercase = false,
            RequireNonAlphanumeric = false,
        };
        options.Lockout.AllowedForNewUsers = true;
        options.Lockout.MaxFailedAccessAttempts = 5;
        options.Lockout.DefaultLockoutTimeSpan = TimeSpan.FromMinutes(10);
    }

    private static void Cookie(CookieAuthenticationOptions options)
    {
        options.Cookie.Name = CookieName;
        options.Cookie.HttpOnly = true;
        options.Cookie.SameSite = SameSiteMode.Lax;
        // So that http://localhost works; behind https the cookie is Secure.
        options.Cookie.SecurePolicy = CookieSecurePolicy.SameAsRequest;
        options.ExpireTimeSpan = Device.LivesUnseen;
        options.SlidingExpiration = true;
        options.ReturnUrlParameter = "return";
        options.Events.OnSigningIn = DeviceCheck.NameDeviceAsync;
        options.Events.OnRedirectToLogin = context => ToDoor(context, StatusCodes.Status401Unauthorized);
        options.Events.OnRedirectToAccessDenied = context => ToDoor(context, StatusCodes.Status403Forbidden);
    }

    /// <summary>People are led to the right sign-in; machines get the bare status.</summary>
    private static Task ToDoor(RedirectContext<CookieAuthenticationOptions> context, int statusForMachines)
    {
        var request = context.Request;
        // The handler of upload tokens is asked first and may have said already what is the matter.
        if (context.Response.HasStarted || context.Response.StatusCode == StatusCodes.Status429TooManyRequests)
            return Task.CompletedTask;
        if (request.Path.StartsWithSegments("/api", StringComparison.Ordinal) || request.Path.StartsWithSegments("/uploads", StringComparison.Ordinal))
        {
            context.Response.StatusCode = statusForMachines;
            return Task.CompletedTask;
        }
        var door = request.Path.StartsWithSegments("/workbench", StringComparison.Ordinal) ? "/workbench/sign-in" : "/sign-in";
        var back = HttpMethods.IsGet(request.Method) ? request.Path + request.QueryString : "";
        context.Response.Redirect(request.PathBase + door + QueryString.Create("return", back));
        return Task.CompletedTask;
    }

    private static void GuardWorkbench(RazorPagesOptions options)
    {
        options.Conventions.AuthorizeFolder("/Workbench", Policies.Maker);
        options.Conventions.AllowAnonymousToPage("/Workbench/SignIn");
        options.Conventions.AllowAnonymousToPage("/Workbench/Claim");
        options.Conventions.AllowAnonymousToPage("/Workbench/Recover");
    }
}

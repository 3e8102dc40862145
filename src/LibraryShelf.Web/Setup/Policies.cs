using System.Security.Claims;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Identity;

namespace LibraryShelf.Web.Setup;

/// <summary>Who may do what, by name; pages and endpoints say one of these and nothing else.</summary>
internal static class Policies
{
    /// <summary>The signed-in maker.</summary>
    public const string Maker = "Maker";

    /// <summary>The signed-in maker, or the command line with an upload token.</summary>
    public const string Sender = "Sender";

    /// <summary>The signed-in maker, or a program with a token for the figures.</summary>
    public const string NumbersReader = "NumbersReader";

    /// <summary>Claim of a request that came with a token for the figures; its value is the token's row id.</summary>
    public const string NumbersTokenClaim = "numbers-token";

    /// <summary>Claim of a cookie whose person is the maker; its value is always "1".</summary>
    public const string MakerClaim = "maker";

    /// <summary>Claim of a cookie: the row of the device it was made for.</summary>
    public const string DeviceClaim = "device";

    /// <summary>Claim of a request that came with an upload token; its value is the token's row id.</summary>
    public const string UploadTokenClaim = "upload-token";

    /// <summary>Authentication scheme of <c>Authorization: Bearer …</c>.</summary>
    public const string UploadTokenScheme = "UploadToken";

    public static bool IsMaker(this ClaimsPrincipal user) => user.HasClaim(MakerClaim, "1");

    /// <summary>The signed-in person's row id; null for a visitor and for an upload token.</summary>
    public static long? PersonId(this ClaimsPrincipal user) =>
        long.TryParse(user.FindFirstValue(ClaimTypes.NameIdentifier), out var id) ? id : null;

    /// <summary>The row of the device this cookie was made for; null for a visitor, and for a cookie from before cookies named rows.</summary>
    public static long? DeviceId(this ClaimsPrincipal user) => long.TryParse(user.FindFirstValue(DeviceClaim), out var id) ? id : null;

    internal static void Register(AuthorizationOptions options)
    {
        options.AddPolicy(Maker, p => p
            .AddAuthenticationSchemes(IdentityConstants.ApplicationScheme)
            .RequireClaim(MakerClaim, "1"));
        options.AddPolicy(Sender, p => p
            .AddAuthenticationSchemes(UploadTokenScheme, IdentityConstants.ApplicationScheme)
            .RequireAssertion(c => c.User.IsMaker() || c.User.HasClaim(claim => claim.Type == UploadTokenClaim)));
        options.AddPolicy(NumbersReader, p => p
            .AddAuthenticationSchemes(UploadTokenScheme, IdentityConstants.ApplicationScheme)
            .RequireAssertion(c => c.User.IsMaker() || c.User.HasClaim(claim => claim.Type == NumbersTokenClaim)));
    }
}

using System.Globalization;
using System.Security.Claims;
using System.Text.Encodings.Web;
using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>Reads <c>Authorization: Bearer …</c> (RFC 6750 §2.1) and looks the token up by its hash.</summary>
internal sealed class UploadTokenHandler(
    IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder, FindUploadToken find)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    private const string Prefix = "Bearer ";

    protected override async Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        var header = Request.Headers.Authorization.ToString();
        if (!header.StartsWith(Prefix, StringComparison.OrdinalIgnoreCase))
            return AuthenticateResult.NoResult();
        if (await find.RunAsync(header[Prefix.Length..].Trim(), Context.RequestAborted) is not { } tokenId)
            return AuthenticateResult.Fail("The upload token is unknown or revoked.");
        var claim = new Claim(Policies.UploadTokenClaim, tokenId.ToString(CultureInfo.InvariantCulture));
        var identity = new ClaimsIdentity([claim], Scheme.Name);
        return AuthenticateResult.Success(new AuthenticationTicket(new ClaimsPrincipal(identity), Scheme.Name));
    }

    protected override Task HandleChallengeAsync(AuthenticationProperties properties)
    {
        Response.StatusCode = StatusCodes.Status401Unauthorized;
        Response.Headers.WWWAuthenticate = "Bearer";
        return Task.CompletedTask;
    }
}

using System.Globalization;
using System.Security.Claims;
using System.Text.Encodings.Web;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Endpoints;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>Reads <c>Authorization: Bearer …</c> (RFC 6750 §2.1) and looks the token up by its hash.</summary>
internal sealed class UploadTokenHandler(
    IOptionsMonitor<AuthenticationSchemeOptions> options, ILoggerFactory logger, UrlEncoder encoder, FindUploadToken find, WrongTokens wrong)
    : AuthenticationHandler<AuthenticationSchemeOptions>(options, logger, encoder)
{
    private const string Prefix = "Bearer ";

    /// <summary>This network has shown too many wrong tokens; the one that came was not looked up.</summary>
    private bool _isPutOff;

    protected override async Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        var header = Request.Headers.Authorization.ToString();
        if (!header.StartsWith(Prefix, StringComparison.OrdinalIgnoreCase))
            return AuthenticateResult.NoResult();
        var network = Context.Connection.RemoteIpAddress;
        using (var lease = wrong.Look(network))
        {
            if (!lease.IsAcquired)
            {
                _isPutOff = true;
                RateLimits.SayWhen(Response, lease);
                return AuthenticateResult.Fail("Too many wrong tokens came from this network.");
            }
        }
        if (await find.RunAsync(header[Prefix.Length..].Trim(), Context.RequestAborted) is not var (tokenId, use))
        {
            wrong.Note(network);
            return AuthenticateResult.Fail("The token is unknown or revoked.");
        }
        var claim = new Claim(use == TokenUse.Send ? Policies.UploadTokenClaim : Policies.NumbersTokenClaim, tokenId.ToString(CultureInfo.InvariantCulture));
        var identity = new ClaimsIdentity([claim], Scheme.Name);
        return AuthenticateResult.Success(new AuthenticationTicket(new ClaimsPrincipal(identity), Scheme.Name));
    }

    protected override Task HandleChallengeAsync(AuthenticationProperties properties)
    {
        if (_isPutOff)
        {
            return Refusals.Say(StatusCodes.Status429TooManyRequests,
                T("Too many wrong tokens came from your network, so none is looked at for some minutes. What was sent before is kept. Look whether your token is right, or make a new one at the workbench; wait as long as Retry-After says, and ask again."))
                .ExecuteAsync(Context);
        }
        Response.StatusCode = StatusCodes.Status401Unauthorized;
        Response.Headers.WWWAuthenticate = "Bearer";
        return Task.CompletedTask;
    }
}

using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Antiforgery;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// Machine endpoints that the maker's browser may use too: her cookie alone would let another site's page act for her, so a
/// request that changes something needs the antiforgery header. A request with an upload token needs none.
/// </summary>
internal static class SenderGuard
{
    public const string Header = "RequestVerificationToken";
    public const string Field = "__RequestVerificationToken";

    public static RouteGroupBuilder GuardSenders(this RouteGroupBuilder group)
    {
        group.RequireAuthorization(Policies.Sender);
        group.AddEndpointFilter(CheckAsync);
        return group;
    }

    private static async ValueTask<object?> CheckAsync(EndpointFilterInvocationContext invocation, EndpointFilterDelegate next)
    {
        var context = invocation.HttpContext;
        return await IsProvedAsync(context)
            ? await next(invocation)
            : Refusals.Say(StatusCodes.Status400BadRequest, T("This page was opened too long ago or by somebody else. What was sent is kept. Load the page again and go on."));
    }

    private static async Task<bool> IsProvedAsync(HttpContext context)
    {
        var request = context.Request;
        if (HttpMethods.IsGet(request.Method) || HttpMethods.IsHead(request.Method) || context.User.HasClaim(c => c.Type == Policies.UploadTokenClaim))
            return true;
        // Without the header the platform would look for the token in a form, and read a whole upload as one.
        return request.Headers.ContainsKey(Header)
            && await context.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context);
    }
}

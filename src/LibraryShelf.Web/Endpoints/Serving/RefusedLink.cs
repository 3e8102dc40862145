using LibraryShelf.Core.Downloads;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>Answers a refused link with the page that says what happened, in place, under the link's own address.</summary>
internal static class RefusedLink
{
    private const string Page = "/Shelf/LinkProblem";

    public static Task WriteAsync(HttpContext context, OpenLinkOutcome.Refused refused)
    {
        context.Features.Set(refused);
        var page = context.RequestServices.GetRequiredService<EndpointDataSource>().Endpoints
            .First(e => e.Metadata.GetMetadata<PageActionDescriptor>()?.ViewEnginePath == Page);
        context.SetEndpoint(page);
        context.Request.RouteValues = new RouteValueDictionary { ["page"] = Page };
        return page.RequestDelegate!(context);
    }
}

using LibraryShelf.Core.Downloads;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Stands in for the bytes of every refused link, under the link's own address. Asked for by itself there is nothing to say.</summary>
public sealed class LinkProblemModel(ReadLinkAbout about, TimeProvider clock) : PageModel
{
    internal LinkProblemWords Words { get; private set; } = null!;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (HttpContext.Features.Get<OpenLinkOutcome.Refused>() is not { } refused) return NotFound();
        Words = LinkProblemWords.For(refused.Trouble, await about.RunAsync(refused.DownloadId, cancellationToken), clock.GetUtcNow());
        Response.StatusCode = StatusOf(refused.Trouble);
        Response.Headers.CacheControl = "private, no-store";
        if (refused.Trouble == LinkTrouble.TooManyAtOnce) Response.Headers.RetryAfter = "30"; // seconds
        return Page();
    }

    private static int StatusOf(LinkTrouble trouble) => trouble switch
    {
        LinkTrouble.Altered => StatusCodes.Status403Forbidden,
        LinkTrouble.Unknown => StatusCodes.Status404NotFound,
        LinkTrouble.TooManyAtOnce => StatusCodes.Status429TooManyRequests,
        LinkTrouble.Gone => StatusCodes.Status503ServiceUnavailable,
        _ => StatusCodes.Status410Gone,
    };
}

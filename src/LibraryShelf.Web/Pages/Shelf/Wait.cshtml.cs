using System.Globalization;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Endpoints.Serving;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Waits with somebody for their turn to download, by the same link, and leads to it then. Keeps the place each time it is looked at.</summary>
public sealed class WaitModel(OpenLink open, DownloadTurns turns) : PageModel
{
    internal TurnOutcome Standing { get; private set; } = null!;

    /// <summary>The address of the bytes.</summary>
    internal string Link { get; private set; } = "";

    internal string FileName { get; private set; } = "";

    internal string Title => Standing switch
    {
        TurnOutcome.Waits => T("Your download waits its turn"),
        TurnOutcome.MayBegin { HasBegun: true } => T("Your download has begun"),
        _ => T("It is your turn"),
    };

    /// <summary>Where the browser goes at once; null: nowhere.</summary>
    internal string? Refresh => Standing is TurnOutcome.MayBegin { HasBegun: false } ? "0; url=" + Link : null;

    /// <summary>After how many whole seconds it looks again; null: no more.</summary>
    internal string? AskAgain => (Standing as TurnOutcome.Waits)?.AskAgain.TotalSeconds.ToString("0", CultureInfo.InvariantCulture);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        var link = LinkTarget.Get + LinkTarget.Of(HttpContext)[LinkTarget.Wait.Length..];
        Response.Headers.CacheControl = "private, no-store";
        var outcome = await open.RunAsync(link, cancellationToken);
        if (outcome is not OpenLinkOutcome.Open opened)
        {
            await RefusedLink.WriteAsync(HttpContext, (OpenLinkOutcome.Refused)outcome);
            return new EmptyResult();
        }
        (Link, FileName) = (Request.PathBase.ToUriComponent() + link, opened.Archive.FileName);
        Standing = turns.IsLimited ? turns.Ask(opened.Download.Id, opened.Archive.Length) : new TurnOutcome.MayBegin(HasBegun: false);
        return Page();
    }
}

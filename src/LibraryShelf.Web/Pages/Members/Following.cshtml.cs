using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>The page behind the mailed link about following a library. Opening it says nothing, because mail scanners open links; its buttons do.</summary>
[EnableRateLimiting(RateLimits.Doors), ResponseCache(NoStore = true)]
internal sealed class FollowingModel(LookAtFollowing look, ConfirmFollowing confirm, StopFollowing stop) : PageModel
{
    [BindProperty(SupportsGet = true)] public string Key { get; set; } = "";

    /// <summary>Null: nobody follows by it.</summary>
    public FollowLook? Look { get; private set; }

    public bool IsStopped { get; private set; }

    public string Here => "/follow/" + Uri.EscapeDataString(Key);

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Look = await look.RunAsync(Key, cancellationToken);
        if (Look is null)
            Response.StatusCode = StatusCodes.Status404NotFound;
    }

    public async Task<IActionResult> OnPostYesAsync(CancellationToken cancellationToken)
    {
        await confirm.RunAsync(Key, cancellationToken);
        await OnGetAsync(cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostStopAsync(CancellationToken cancellationToken)
    {
        await OnGetAsync(cancellationToken);
        IsStopped = await stop.RunAsync(Key, cancellationToken);
        return Page();
    }
}

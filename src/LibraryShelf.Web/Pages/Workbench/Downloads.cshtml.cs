using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The newest downloads, of all, of one box or of one person; their links are closed here.</summary>
internal sealed class DownloadsModel(ReadDownloads read, TimeProvider clock) : PageModel
{
    /// <summary>One person's alone.</summary>
    [BindProperty(Name = "person", SupportsGet = true)] public long? PersonId { get; set; }

    /// <summary>A box's slug: of it alone.</summary>
    [BindProperty(SupportsGet = true)] public string? Library { get; set; }

    public RecentDownloads Recent { get; private set; } = null!;

    public DateTimeOffset Now { get; } = clock.GetUtcNow();

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(PersonId, Library, cancellationToken) is not { } recent) return NotFound();
        Recent = recent;
        return Page();
    }

    public async Task<IActionResult> OnPostCloseAsync(string? id, [FromServices] RevokeDownload revoke, CancellationToken cancellationToken)
    {
        if (await revoke.RunAsync(id ?? "", cancellationToken))
            TempData["Said"] = "The link is closed: the next request with it gets nothing. What was handed over stays with whoever has it.";
        else
            TempData["Warned"] = "That link was closed already, or is not known; nothing was changed.";
        return Back();
    }

    public async Task<IActionResult> OnPostCloseAllAsync([FromServices] RevokePersonsDownloads revoke, CancellationToken cancellationToken)
    {
        if (PersonId is not { } person) return NotFound();
        var closed = await revoke.RunAsync(person, cancellationToken);
        if (closed > 0) TempData["Said"] = $"{Plural.Opening(closed, "link")} closed. What was handed over stays with them; a new link can be made with the button.";
        else TempData["Warned"] = "No link of this person was open; nothing was changed.";
        return Back();
    }

    private RedirectToPageResult Back() => RedirectToPage(new { person = PersonId, library = Library });
}

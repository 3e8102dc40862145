using System.Globalization;
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

    /// <summary>Where the list begins, as the page before it says; anything else: at the newest.</summary>
    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    public RecentDownloads Recent { get; private set; } = null!;

    public DateTimeOffset Now { get; } = clock.GetUtcNow();

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(PersonId, Library, Begin, cancellationToken) is not { } recent) return NotFound();
        Recent = recent;
        return Page();
    }

    public async Task<IActionResult> OnPostCloseAsync(string? id, [FromServices] RevokeDownload revoke, CancellationToken cancellationToken)
    {
        if (await revoke.RunAsync(id ?? "", cancellationToken))
            TempData["Said"] = T("The link is closed: the next request with it gets nothing. What was handed over stays with whoever has it.");
        else
            TempData["Warned"] = T("That link was closed already, or is not known; nothing was changed.");
        return Back();
    }

    public async Task<IActionResult> OnPostCloseAllAsync([FromServices] RevokePersonsDownloads revoke, CancellationToken cancellationToken)
    {
        if (PersonId is not { } person) return NotFound();
        var closed = await revoke.RunAsync(person, cancellationToken);
        if (closed > 0) TempData["Said"] = T($"{Plural.Opening(closed, "link")} closed. What was handed over stays with them; a new link can be made with the button.");
        else TempData["Warned"] = T("No link of this person was open; nothing was changed.");
        return Back();
    }

    /// <summary>"1795564800000.1" as <see cref="DownloadsFrom"/>.</summary>
    internal DownloadsFrom? Begin =>
        From?.Split('.') is [var at, var skip] && long.TryParse(at, NumberStyles.None, CultureInfo.InvariantCulture, out var madeAt) && madeAt <= LastMillisecond
            && int.TryParse(skip, NumberStyles.None, CultureInfo.InvariantCulture, out var n) && n <= MostSkipped ? new(madeAt, n) : null;

    /// <summary>The end of the year 9998, so that it is a day in any zone; and far more links than are made in a millisecond.</summary>
    private const long LastMillisecond = 253_370_764_799_999, MostSkipped = 100_000;

    internal static string Said(DownloadsFrom from) => string.Create(CultureInfo.InvariantCulture, $"{from.MadeAt}.{from.Skip}");

    private RedirectToPageResult Back() => RedirectToPage(new { person = PersonId, library = Library, from = Begin is null ? null : From });
}

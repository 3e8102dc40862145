using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>What the five pages of a release have in common.</summary>
public abstract class ReleasePage(ReadRelease read, ShopView shop) : PageModel
{
    [BindProperty(SupportsGet = true, Name = "id")]
    public long Id { get; set; }

    public ReleaseStory Story { get; private set; } = null!;

    public Release Release => Story.Release;

    public FormProblems Problems { get; protected set; } = FormProblems.None;

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    protected string AddressOf(StoryPage page) => StoryStep.Address(Id, page);

    /// <summary>Reads the release and shows the page; 404 when it is gone.</summary>
    protected async Task<IActionResult> ShowAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(Id, cancellationToken) is not { } story)
            return NotFound();
        Story = story;
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
        return Page();
    }
}

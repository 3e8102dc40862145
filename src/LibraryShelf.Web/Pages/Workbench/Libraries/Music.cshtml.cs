using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>The piece of music on a library's page: sent, given other words, taken off.</summary>
[RequestSizeLimit(MostForm), RequestFormLimits(MultipartBodyLengthLimit = MostForm)]
public sealed class MusicModel(ReadMusic read, KeepMusic keep, RemoveMusic remove, JobChain chain) : PageModel
{
    /// <summary>More than a recording may weigh, so that one too big is told so by this page.</summary>
    private const int MostForm = 4 * KeepMusic.MostBytes;

    [BindProperty(SupportsGet = true)] public string Slug { get; set; } = "";

    [BindProperty] public string? Title { get; set; }

    [BindProperty] public string? Credit { get; set; }

    [BindProperty] public IFormFile? Recording { get; set; }

    public MusicAtWork Work { get; private set; } = null!;

    public FormProblems Problems { get; private set; } = FormProblems.None;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(Slug, cancellationToken) is not { } work)
            return NotFound();
        Work = work;
        if (HttpMethods.IsGet(Request.Method))
            (Title, Credit) = (work.Music?.Title, work.Music?.Credit);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        if (Recording is { Length: > KeepMusic.MostBytes })
            return await RefusedAsync([new("Recording", T($"It is larger than {Words.Sizes.Of(KeepMusic.MostBytes)}. Send a shorter one, or one with fewer bits."))], cancellationToken);
        try
        {
            // No file was chosen: null. One without a byte is sent on like any other, and refused.
            await using var sent = Recording?.OpenReadStream();
            switch (await keep.RunAsync(Slug, Title, Credit, sent, cancellationToken))
            {
                case KeepMusicOutcome.Kept kept:
                    if (kept.IsNew)
                        chain.ListenSoon();
                    TempData["Said"] = kept.IsNew ? T("The piece is kept. It is being made ready to be heard.") : T("The words are saved.");
                    return Redirect($"/workbench/libraries/{Slug}/music");
                case KeepMusicOutcome.Refused refused:
                    return await RefusedAsync(refused.Refusals, cancellationToken);
                default:
                    return NotFound();
            }
        }
        catch (IOException e) when (DiskTrouble.WordsOf(e) is { } words)
        {
            return await RefusedAsync([new("Recording", T($"{words} Make room, then send it again."))], cancellationToken);
        }
    }

    public async Task<IActionResult> OnPostRemoveAsync(CancellationToken cancellationToken)
    {
        if (await remove.RunAsync(Slug, cancellationToken))
        {
            // What was the matter with it is so no longer.
            chain.ListenSoon();
            TempData["Said"] = T("The piece is off the library’s page.");
        }
        return Redirect($"/workbench/libraries/{Slug}/music");
    }

    private async Task<IActionResult> RefusedAsync(IReadOnlyList<Core.Shared.Refusal> refusals, CancellationToken cancellationToken)
    {
        Problems = new FormProblems(T("Nothing was changed. What you typed is kept below; a file has to be chosen again."), refusals);
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return await OnGetAsync(cancellationToken);
    }
}

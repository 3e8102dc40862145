using LibraryShelf.Core.Letters;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>
/// The page behind the link that stops a kind of mail, for people and for mail programs: opening it only looks, because scanners open links; a POST stops
/// it at once, without cookies, a sign-in or a redirect (RFC 8058 §3.1, §3.2), so it asks for no proof of our own form. The key can't be guessed. No limit by network: after
/// a drop one mail provider's machines may bring the wishes of hundreds.
/// </summary>
[IgnoreAntiforgeryToken, ResponseCache(NoStore = true)]
internal sealed class LettersModel(LookAtLetters look, RefuseKind refuse) : PageModel
{
    [BindProperty(SupportsGet = true)] public string Key { get; set; } = "";

    [BindProperty(SupportsGet = true)] public string Kind { get; set; } = "";

    public LettersLook Look { get; private set; } = null!;

    /// <summary>Null until a button is pressed.</summary>
    public RefuseOutcome? Outcome { get; private set; }

    public string Here => $"/letters/{Uri.EscapeDataString(Key)}/{Uri.EscapeDataString(Kind)}";

    /// <summary>Who stopped following is not known any more.</summary>
    public bool CanTakeBack { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await look.RunAsync(Key, Kind, cancellationToken) is not { } found)
            return NotFound();
        CanTakeBack = found.IsRefused && found.Library is null && Outcome != RefuseOutcome.Nobody;
        Look = found;
        return Page();
    }

    public Task<IActionResult> OnPostAsync(CancellationToken cancellationToken) => ChooseAsync(refuses: true, cancellationToken);

    public Task<IActionResult> OnPostAgainAsync(CancellationToken cancellationToken) => ChooseAsync(refuses: false, cancellationToken);

    private async Task<IActionResult> ChooseAsync(bool refuses, CancellationToken cancellationToken)
    {
        var before = await look.RunAsync(Key, Kind, cancellationToken);
        Outcome = await refuse.RunAsync(Key, Kind, refuses, cancellationToken);
        var page = await OnGetAsync(cancellationToken);
        // A follower is gone once stopped; the page still names what they followed.
        if (Outcome == RefuseOutcome.Refused && before?.Library is { } library)
            (Look, CanTakeBack) = (Look with { Library = library, IsRefused = true }, false);
        return page;
    }
}

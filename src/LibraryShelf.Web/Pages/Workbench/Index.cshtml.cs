using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The workbench's first page: what the maker has to know, then every library with what is on the shelf and what is in work.</summary>
public sealed class IndexModel(ReadWorkbench read, ReadDrops readDrops, AlertView alerts, ReadHold hold, ListStoppedMails stopped, ShopView shop, ReadShopTexts texts, IOptions<ShelfSettings> settings) : PageModel
{
    private static readonly TimeSpan DropSoon = TimeSpan.FromDays(7);

    public IReadOnlyList<LibraryAtWork> Libraries { get; private set; } = [];

    internal IReadOnlyList<WaitingWork> Waiting { get; private set; } = [];

    public StandingAlerts Standing { get; private set; } = new([], 0);

    /// <summary>Once a drop is planned, or was: what the next one lacks is what wants doing today.</summary>
    public DropMonth? NextDrop { get; private set; }

    /// <summary>It wants something of her, and is late or due within a week: it stands before what has no day.</summary>
    public bool IsDropFirst => NextDrop is { } next && (next.IsWanting || next.IsAsking) && next.DueAt <= Now + DropSoon;

    /// <summary>Letters are near, and say nowhere where their sender lives.</summary>
    public bool LacksPostalAddress { get; private set; }

    public DateTimeOffset Now { get; private set; }

    /// <summary>Why mail programs can't stop letters with one click; null: they can.</summary>
    public string? OneClickTrouble => OneClick.TroubleOf(settings.Value);

    /// <summary>What this restored shelf holds back; null: nothing is held.</summary>
    public Hold? Held { get; private set; }

    /// <summary>Mails to many that she stopped, lest they be forgotten.</summary>
    public IReadOnlyList<StoppedMails> StoppedMails { get; private set; } = [];

    public DateTimeZone Zone { get; private set; } = DateTimeZone.Utc;

    public string Opening
    {
        get
        {
            var onShelf = Libraries.Count(l => l.OnShelf is not null);
            var all = Plural.Opening(Libraries.Count, "library");
            return onShelf == Libraries.Count ? T($"{all}.") : onShelf == 0 ? T($"{all}, none on the shelf yet.") : T($"{all}, {onShelf} of them on the shelf.");
        }
    }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Libraries = await read.RunAsync(cancellationToken);
        Waiting = WaitingWork.Of(Libraries, await texts.RunAsync(cancellationToken));
        Standing = await alerts.GetAsync(cancellationToken);
        var months = await readDrops.RunAsync(cancellationToken);
        (NextDrop, LacksPostalAddress, Now) = (months.IsUsed ? months.Next : null, months.LacksPostalAddressSoon, months.Now);
        Held = await hold.RunAsync(cancellationToken);
        StoppedMails = await stopped.RunAsync(cancellationToken);
        Zone = (await shop.GetAsync(cancellationToken)).Zone;
    }

    public async Task<IActionResult> OnPostGoOnAsync(bool throwAway, [FromServices] EndHold end, [FromServices] JobChain jobs, CancellationToken cancellationToken)
    {
        var outcome = await end.RunAsync(throwAway, cancellationToken);
        if (outcome == EndHoldOutcome.Ended)
        {
            jobs.MailSoon();
            TempData["Said"] = throwAway ? T("The old mails were thrown away. Mails and drops go out again.") : T("Mails and drops go out again.");
        }
        else
        {
            TempData["Warned"] = outcome == EndHoldOutcome.IsTrial
                ? T("This shelf is only there to try a backup, and stays quiet; nothing was done.") : T("Nothing was held any more; nothing was done.");
        }
        return Redirect("/workbench");
    }

    /// <param name="alert">Which row.</param>
    /// <param name="raised">Which case of it, Unix milliseconds: what came back since the page was opened stays.</param>
    /// <param name="putAway">The verb.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task<IActionResult> OnPostPutAwayAsync(
        long alert, long raised, [FromServices] PutAwayAlert putAway, CancellationToken cancellationToken)
    {
        // What is no instant at all is no case either.
        var instant = DateTimeOffset.FromUnixTimeMilliseconds(Math.Clamp(raised, 0, DateTimeOffset.MaxValue.ToUnixTimeMilliseconds()));
        if (await putAway.RunAsync(alert, instant, cancellationToken) == PutAwayOutcome.PutAway)
            TempData["Said"] = T("It is put away. If it happens again, it comes back.");
        else
            TempData["Warned"] = T("It was over already, or has come back since; nothing was put away.");
        return Redirect("/workbench");
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>One month's drop: its plan, what stands in it, what it lacks, and what can be done about it.</summary>
internal sealed class DropModel(ReadDrop read, ShowLetter show, JobChain jobs) : PageModel
{
    /// <summary>Stands in the list of days for a date of its own.</summary>
    public const string OnDate = "date";

    [BindProperty(Name = "month", SupportsGet = true)] public string? Address { get; set; }

    /// <summary>What is about to be done: the first of two presses.</summary>
    [BindProperty(Name = "ask", SupportsGet = true)] public string? Ask { get; set; }

    [BindProperty] public string? Title { get; set; }
    [BindProperty] public string? Note { get; set; }
    [BindProperty] public string? Day { get; set; }
    [BindProperty] public string? Date { get; set; }
    [BindProperty] public string? Time { get; set; }
    [BindProperty] public string? Zone { get; set; }
    [BindProperty] public bool IsAtOnce { get; set; }
    [BindProperty] public int? Revision { get; set; }
    [BindProperty] public string? Reason { get; set; }

    /// <summary>The second of two presses.</summary>
    [BindProperty] public bool IsSure { get; set; }

    /// <summary>The first of two presses: what would be told, for the reason in <see cref="Reason"/>; null: not asked.</summary>
    public LetterShown? SlipLetter { get; private set; }

    /// <summary>The first of two presses, where members were told of it: the month it would move to; null: not asked.</summary>
    public YearMonth? MoveTo { get; private set; }

    /// <summary>The same of another day, as it stands in the form.</summary>
    public bool IsAboutToReplan { get; private set; }

    public DropPage Shown { get; private set; } = null!;

    /// <summary>As it would go out now; null: nothing is in it yet, or it is out.</summary>
    public LetterShown? Letter { get; private set; }

    public Problems? Problems { get; private set; }

    private IReadOnlyList<Refusal> refusals = [];

    public YearMonth Month => DropWords.Read(Address) ?? default;

    public string Here => "/workbench/drops/" + Address;

    public string? ErrorOf(string field) => refusals.FirstOrDefault(r => r.Field == field)?.Words;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (DropWords.Read(Address) is not { } month)
            return NotFound();
        await ReadAsync(month, cancellationToken);
        Fill();
        return Page();
    }

    /// <summary>The letter as a mail program shows it.</summary>
    public async Task<IActionResult> OnGetLetterAsync(CancellationToken cancellationToken)
    {
        if (DropWords.Read(Address) is not { } month || (await read.RunAsync(month, cancellationToken)).Month.Drop is not { } drop || await show.RunAsync(drop.Id, cancellationToken) is not { } letter)
            return NotFound();
        HttpContext.Items[SafetyHeaders.IsMail] = true;
        return Content(letter.Html, "text/html; charset=utf-8");
    }

    public async Task<IActionResult> OnPostRehearseAsync([FromServices] RehearseDrop rehearse, CancellationToken cancellationToken)
    {
        if ((await read.RunAsync(Month, cancellationToken)).Month.Drop is not { } drop)
            return NotFound();
        switch (await rehearse.RunAsync(drop.Id, User.PersonId() ?? 0, cancellationToken))
        {
            case RehearseOutcome.MailOnItsWay:
                jobs.MailSoon();
                return Said(T($"The letter is on its way to {User.Identity?.Name}, and to nobody else."), "#preview");
            case RehearseOutcome.NothingInIt:
                return await AnswerAsync(new DropOutcome.Refused("", T("Put a version in first: there is nothing to write of yet.")), "", "", cancellationToken);
            default:
                return await AnswerAsync(new DropOutcome.Refused("", T("You have no address here to send it to.")), "", "", cancellationToken);
        }
    }

    public async Task<IActionResult> OnPostAsync([FromServices] PlanDrop plan, CancellationToken cancellationToken)
    {
        if (DropWords.Read(Address) is not { } month)
            return NotFound();
        var form = new DropForm(Title ?? "", Note ?? "", Day == OnDate ? Date ?? "" : Day ?? "", Time ?? "", Zone ?? "", IsAtOnce);
        if (!IsSure && (await read.RunAsync(month, cancellationToken)).Month.Drop is { State: DropState.Planned, SlippedAt: not null } told
            && form.Tidied() is { } tidied && tidied.DueIn(month) is not null && (IsAtOnce || (tidied.Day, tidied.Time, tidied.Zone) != (told.Day, told.Time, told.Zone)))
        {
            await ReadAsync(month, cancellationToken);
            IsAboutToReplan = true;
            return Page();
        }
        return await AnswerAsync(await plan.RunAsync(month, form, Revision, cancellationToken), T("The plan is kept."), "#plan", cancellationToken);
    }

    public async Task<IActionResult> OnPostPutInAsync(long release, [FromServices] FillDrop fill, CancellationToken cancellationToken) =>
        await AnswerAsync(await fill.RunAsync(Month, release, isIn: true, cancellationToken), T("It is in the drop."), "#versions", cancellationToken);

    public async Task<IActionResult> OnPostTakeOutAsync(long release, [FromServices] FillDrop fill, CancellationToken cancellationToken) =>
        await AnswerAsync(await fill.RunAsync(Month, release, isIn: false, cancellationToken), T("It is taken out. Sealed, it stays sealed, and waits for another drop or for you to publish it."), "#versions", cancellationToken);

    public async Task<IActionResult> OnPostMoveAsync(string? to, [FromServices] MoveDrop move, CancellationToken cancellationToken)
    {
        if (!IsSure && DropWords.Read(to) is { } other && (await read.RunAsync(Month, cancellationToken)).Month.Drop is { State: DropState.Planned, SlippedAt: not null })
        {
            await ReadAsync(Month, cancellationToken);
            Fill();
            MoveTo = other;
            return Page();
        }
        var outcome = DropWords.Read(to) is { } month
            ? await move.RunAsync(Month, month, Revision ?? 0, cancellationToken)
            : new DropOutcome.Refused("To", T("Choose the month it moves to."));
        if (outcome is DropOutcome.Done)
            Address = to;
        return await AnswerAsync(outcome, T($"It has moved to {(DropWords.Read(to) is { } moved ? DropWords.Month(moved) : "")}, with its words and its versions."), "", cancellationToken);
    }

    public async Task<IActionResult> OnPostCancelAsync([FromServices] CancelDrop cancel, CancellationToken cancellationToken) =>
        await AnswerAsync(await cancel.RunAsync(Month, Revision ?? 0, cancellationToken), T("It is called off. Its versions are sealed as before, and its words are kept for another plan."), "", cancellationToken);

    public async Task<IActionResult> OnPostEndSlipAsync([FromServices] EndSlip end, CancellationToken cancellationToken) =>
        await AnswerAsync(await end.RunAsync(Month, Revision ?? 0, cancellationToken), T("It does not slip any more: the shelf says nothing of it, and letters still to be sent are left out."), "", cancellationToken);

    public async Task<IActionResult> OnPostLetGoAsync([FromServices] LetDropGo let, CancellationToken cancellationToken) =>
        await AnswerAsync(await let.RunAsync(Month, Revision ?? 0, cancellationToken), T("It goes out in five minutes. Until then you can take it back here."), "", cancellationToken);

    public async Task<IActionResult> OnPostTakeBackAsync([FromServices] TakeBackDrop takeBack, CancellationToken cancellationToken) =>
        await AnswerAsync(await takeBack.RunAsync(Month, cancellationToken), T("It is taken back, and nothing of it went out."), "", cancellationToken);

    public async Task<IActionResult> OnPostWasOutAsync([FromServices] NoteDropWasOut note, CancellationToken cancellationToken) =>
        await AnswerAsync(await note.RunAsync(Month, Revision ?? 0, cancellationToken), T("Noted. Its versions are on the shelf, and nobody was written to."), "", cancellationToken);

    public async Task<IActionResult> OnPostLookSlipAsync([FromServices] ShowSlip showSlip, CancellationToken cancellationToken)
    {
        if (DropWords.Read(Address) is not { } month)
            return NotFound();
        if (string.IsNullOrWhiteSpace(Reason) || Reason.Trim().Length > TellOfSlip.LongestReason)
            return await AnswerAsync(NoReason, "", "", cancellationToken);
        await ReadAsync(month, cancellationToken);
        Fill();
        SlipLetter = await showSlip.RunAsync(month, Reason, cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostSlipAsync([FromServices] TellOfSlip tell, CancellationToken cancellationToken)
    {
        switch (await tell.RunAsync(Month, Reason, Revision, cancellationToken))
        {
            case TellOfSlipOutcome.Told told:
                jobs.MailSoon();
                return Said(T($"It is told to {Plural.Of(told.Mails, "person")}, and stands on the shelf."), "");
            case TellOfSlipOutcome.NoReason:
                return await AnswerAsync(NoReason, "", "", cancellationToken);
            case TellOfSlipOutcome.IsOut:
                return await AnswerAsync(new DropOutcome.Refused("", T("This drop is out, so it did not slip.")), "", "", cancellationToken);
            case TellOfSlipOutcome.NotExpected:
                return NotFound();
            default:
                return await AnswerAsync(new DropOutcome.ChangedMeanwhile(), "", "", cancellationToken);
        }
    }

    private static DropOutcome.Refused NoReason => new("Reason", T($"Say why it slips, in at most {TellOfSlip.LongestReason} letters: it stands in the mail and on the shelf."));

    public async Task<IActionResult> OnPostDeclareAsync(string? slug, bool declares, [FromServices] DeclareLibrary declare, CancellationToken cancellationToken)
    {
        if (declares && await declare.RunAsync(slug, cancellationToken))
            return Said(T("It is kept: its recordings are yours to give."), "");
        return await AnswerAsync(new DropOutcome.Refused("declares", T("Tick the sentence, then press again.")), "", "", cancellationToken);
    }

    private async Task<IActionResult> AnswerAsync(DropOutcome outcome, string done, string section, CancellationToken cancellationToken)
    {
        switch (outcome)
        {
            case DropOutcome.Done { DueId: { } due }:
                jobs.DropSoon(due);
                return Said(done + " " + T("Its hour is past, so it waits for you to say that it goes out."), section);
            case DropOutcome.Done:
                return Said(done, section);
            case DropOutcome.Missing:
                return NotFound();
            case DropOutcome.Refused refused:
                refusals = refused.Refusals;
                Problems = new Problems(T("Nothing was changed; what you typed is still here."), [.. refusals.Select(r => (r.Field is "" ? "top" : r.Field, r.Words))]);
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
            default:
                Problems = new Problems(T("This month was changed elsewhere since you opened the page, so nothing was changed now. What you typed is still here: copy it, and open the page afresh."), [("top", T("Open the page afresh."))]);
                Response.StatusCode = StatusCodes.Status409Conflict;
                break;
        }
        await ReadAsync(Month, cancellationToken);
        if (Day is null)
            Fill();
        return Page();
    }

    private async Task ReadAsync(YearMonth month, CancellationToken cancellationToken)
    {
        Shown = await read.RunAsync(month, cancellationToken);
        if (Shown.Month is { IsPlanned: true, Drop: { } drop })
            Letter = await show.RunAsync(drop.Id, cancellationToken);
    }

    private RedirectResult Said(string words, string section)
    {
        TempData["Said"] = words;
        return Redirect(Here + section);
    }

    private void Fill()
    {
        var form = Shown.Form;
        (Title, Note, Time, Zone, Revision) = (form.Title, form.Note, form.Time, form.Zone, Shown.Revision);
        (Day, Date) = DropDay.Read(form.Day) is DropDay.Dated dated ? (OnDate, LocalDatePattern.Iso.Format(dated.Date)) : (form.Day, "");
    }
}

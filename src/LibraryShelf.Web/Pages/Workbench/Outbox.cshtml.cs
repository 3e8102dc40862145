using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Where every mail stands; where no mail server is set, the mails themselves.</summary>
[ResponseCache(NoStore = true)]
internal sealed class OutboxModel(ReadOutbox read, LiftSuppression lift, ListStoppedMails stopped, OutboxFolder folder, IOptions<ShelfSettings> settings) : PageModel
{
    public bool HasServer => settings.Value.Mail.SmtpHost.Length > 0;

    public OutboxPage Outbox { get; private set; } = null!;

    /// <summary>Mails to many that the maker stopped.</summary>
    public IReadOnlyList<StoppedMails> Stopped { get; private set; } = [];

    /// <summary>Why mail programs can't stop letters with one click; null: they can.</summary>
    public string? OneClickTrouble => OneClick.TroubleOf(settings.Value);

    public int MostAnHour => settings.Value.Mail.MostAnHour;

    /// <summary>An address was just taken off the list of closed mailboxes.</summary>
    public bool IsLifted { get; private set; }

    public IReadOnlyList<KeptMailLine> Kept { get; private set; } = [];

    public KeptMail? Open { get; private set; }

    public async Task<IActionResult> OnGetAsync(string? mail, CancellationToken cancellationToken)
    {
        if (mail is not null)
        {
            Open = await folder.ReadAsync(mail, cancellationToken);
            return Open is null ? NotFound() : Page();
        }
        Outbox = await read.RunAsync(cancellationToken);
        Stopped = await stopped.RunAsync(cancellationToken);
        Kept = await folder.ListAsync(cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostTryAgainAsync(long id, [FromServices] TryMailAgain again, [FromServices] JobChain jobs, CancellationToken cancellationToken)
    {
        var outcome = await again.RunAsync(id, cancellationToken);
        if (outcome == TryMailAgainOutcome.Waits)
            jobs.MailSoon();
        TempData[outcome is TryMailAgainOutcome.Waits or TryMailAgainOutcome.WaitsStopped ? "Said" : "Warned"] = MailText.TriedAgain(outcome);
        return Redirect("/workbench/outbox");
    }

    /// <param name="kind">Which mails to many.</param>
    /// <param name="about">What they are about.</param>
    /// <param name="back">Where she pressed it.</param>
    /// <param name="stop">The verb.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<IActionResult> OnPostStopAsync(MailRunKind kind, long about, string? back, [FromServices] StopMails stop, CancellationToken cancellationToken)
    {
        var run = new MailRun(kind, about);
        switch (await stop.RunAsync(run, cancellationToken))
        {
            case StopMailsOutcome.Stopped:
                // Where it led to, a notice says how many have gone.
                return BackTo(back, "#mails-" + MailRunWords.Name(run));
            case StopMailsOutcome.HasToBeTold:
                TempData["Warned"] = MailRunWords.HasToBeTold;
                return BackTo(back);
            case StopMailsOutcome.NoneWaits none:
                TempData["Said"] = MailRunWords.NoneWaits(none.Gone);
                return BackTo(back);
            default:
                throw new NotSupportedException();
        }
    }

    /// <inheritdoc cref="OnPostStopAsync"/>
    public async Task<IActionResult> OnPostSendOnAsync(MailRunKind kind, long about, string? back, [FromServices] SendMailsOn on, [FromServices] JobChain jobs, CancellationToken cancellationToken)
    {
        if (await on.RunAsync(new(kind, about), cancellationToken) is { } gone)
        {
            jobs.MailSoon();
            TempData["Said"] = MailRunWords.GoOn(gone);
        }
        else
        {
            TempData["Said"] = T("They were not stopped any more: they go out, or have gone.");
        }
        return BackTo(back);
    }

    private RedirectResult BackTo(string? back, string part = "") => Redirect(back is not null && Url.IsLocalUrl(back) ? back + part : "/workbench/outbox");

    public async Task<IActionResult> OnPostLiftAsync(long id, CancellationToken cancellationToken)
    {
        IsLifted = await lift.RunAsync(id, cancellationToken);
        return await OnGetAsync(null, cancellationToken);
    }
}

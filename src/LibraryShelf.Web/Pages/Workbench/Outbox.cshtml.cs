using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Where every mail stands; where no mail server is set, the mails themselves.</summary>
[ResponseCache(NoStore = true)]
internal sealed class OutboxModel(ReadOutbox read, LiftSuppression lift, OutboxFolder folder, IOptions<ShelfSettings> settings) : PageModel
{
    public bool HasServer => settings.Value.Mail.SmtpHost.Length > 0;

    public OutboxPage Outbox { get; private set; } = null!;

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
        Kept = await folder.ListAsync(cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostTryAgainAsync(long id, [FromServices] TryMailAgain again, [FromServices] JobChain jobs, CancellationToken cancellationToken)
    {
        var outcome = await again.RunAsync(id, cancellationToken);
        if (outcome == TryMailAgainOutcome.Waits)
            jobs.MailSoon();
        TempData[outcome == TryMailAgainOutcome.Waits ? "Said" : "Warned"] = MailText.TriedAgain(outcome);
        return Redirect("/workbench/outbox");
    }

    public async Task<IActionResult> OnPostLiftAsync(long id, CancellationToken cancellationToken)
    {
        IsLifted = await lift.RunAsync(id, cancellationToken);
        return await OnGetAsync(null, cancellationToken);
    }
}

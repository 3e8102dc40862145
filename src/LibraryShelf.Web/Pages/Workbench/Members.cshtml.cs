using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Who is a member: given by hand, ended in two presses.</summary>
internal sealed class MembersModel(
    ReadMembers read, GrantMembership grant, EndMembership end, PublicAddress address, JobChain jobs) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty] public string? Note { get; set; }

    [BindProperty] public string? LastDay { get; set; }

    [BindProperty(SupportsGet = true)] public string? Find { get; set; }

    /// <summary>The person whose membership is about to be ended: the first of two presses.</summary>
    [BindProperty(Name = "end", SupportsGet = true)] public long? AboutToEnd { get; set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public MemberList List { get; private set; } = new([], 0, false);

    public GrantOutcome? Refused { get; private set; }

    public bool IsDayUnreadable { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken) => List = await read.RunAsync(Find, cancellationToken);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        DateOnly? lastDay = null;
        if (!string.IsNullOrWhiteSpace(LastDay))
        {
            IsDayUnreadable = !DateOnly.TryParseExact(LastDay.Trim(), "yyyy-MM-dd", out var day);
            lastDay = day;
        }
        var outcome = IsDayUnreadable
            ? GrantOutcome.EndsBeforeItStarts
            : await grant.RunAsync(Email, Note, lastDay, address.ForMail(Request), cancellationToken);
        if (outcome == GrantOutcome.Granted)
        {
            jobs.MailSoon();
            return Redirect("/workbench/members?done=granted");
        }
        Refused = outcome;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        await OnGetAsync(cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostEndAsync(long id, CancellationToken cancellationToken)
    {
        var outcome = await end.RunAsync(id, cancellationToken);
        return Redirect("/workbench/members?done=" + (outcome == EndOutcome.Ended ? "ended" : "none"));
    }
}

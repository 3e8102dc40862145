using System.Text;
using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Who the shelf knows and how each stands; memberships are given here.</summary>
internal sealed class MembersModel(
    ReadMembers read, GrantMembership grant, PublicAddress address, JobChain jobs, TimeProvider clock) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty] public string? Note { get; set; }

    [BindProperty] public string? LastDay { get; set; }

    [BindProperty(SupportsGet = true)] public string? Find { get; set; }

    [BindProperty(SupportsGet = true)] public MemberState? State { get; set; }

    /// <summary>Those alone who have never signed in.</summary>
    [BindProperty(SupportsGet = true)] public bool Waiting { get; set; }

    [BindProperty(Name = "page-number", SupportsGet = true)] public int PageNumber { get; set; } = 1;

    public MemberList List { get; private set; } = MemberList.Empty;

    public DateTimeOffset Now { get; } = clock.GetUtcNow();

    public GrantOutcome? Refused { get; private set; }

    public bool IsDayUnreadable { get; private set; }

    public bool IsFiltered => State is not null || Waiting || !string.IsNullOrWhiteSpace(Find);

    /// <summary>This list's address with something of it put otherwise.</summary>
    public string Address(MemberState? state, bool waiting, string? find, int page = 1, string? handler = null) => "/workbench/members" + QueryString.Create(
        new[]
        {
            KeyValuePair.Create("state", state?.ToString()), KeyValuePair.Create("waiting", waiting ? "true" : null),
            KeyValuePair.Create("find", string.IsNullOrWhiteSpace(find) ? null : find), KeyValuePair.Create("page-number", page > 1 ? $"{page}" : null),
            KeyValuePair.Create("handler", handler),
        }.Where(p => p.Value is not null));

    public async Task OnGetAsync(CancellationToken cancellationToken) => List = await read.RunAsync(Filter, PageNumber, cancellationToken);

    public async Task<FileContentResult> OnGetCsvAsync([FromServices] ExportMembers export, [FromServices] ShopView shops, CancellationToken cancellationToken)
    {
        var zone = (await shops.GetAsync(cancellationToken)).Zone;
        var text = MembersCsv.Of(await export.RunAsync(Filter, cancellationToken), zone, Now);
        return File(Encoding.UTF8.GetBytes(text), "text/csv; charset=utf-8", "members.csv");
    }

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
            TempData["Said"] = T("The membership holds from now, and a mail that invites them is on its way.");
            return Redirect("/workbench/members");
        }
        Refused = outcome;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        await OnGetAsync(cancellationToken);
        return Page();
    }

    private MemberFilter Filter => new(Find, State is { } state && Enum.IsDefined(state) ? state : null, Waiting);
}

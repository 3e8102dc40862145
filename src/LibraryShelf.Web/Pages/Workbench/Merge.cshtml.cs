using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Two accounts of one person become one, in two presses: the first shows what comes together.</summary>
internal sealed class MergeModel(LookAtMerging look, MergePeople merge, JobChain jobs) : PageModel
{
    /// <summary>The address of the account that goes on.</summary>
    [BindProperty(SupportsGet = true)] public string? Stays { get; set; }

    /// <summary>The address of the one whose things move there.</summary>
    [BindProperty(SupportsGet = true)] public string? Joins { get; set; }

    public MergeLook.Possible? Look { get; private set; }

    public MergeRefusal? Refused { get; private set; }

    public string? Merged { get; private set; }

    public Task OnGetAsync(CancellationToken cancellationToken) =>
        string.IsNullOrWhiteSpace(Stays) && string.IsNullOrWhiteSpace(Joins) ? Task.CompletedTask : OnPostLookAsync(cancellationToken);

    public async Task OnPostLookAsync(CancellationToken cancellationToken)
    {
        switch (await look.RunAsync(Stays, Joins, cancellationToken))
        {
            case MergeLook.Possible possible:
                Look = possible;
                break;
            case MergeLook.Refused refused:
                Refuse(refused.Why);
                break;
        }
    }

    public async Task OnPostMergeAsync(CancellationToken cancellationToken)
    {
        switch (await merge.RunAsync(Stays, Joins, cancellationToken))
        {
            case MergeOutcome.Merged merged:
                Merged = merged.Email;
                jobs.MailSoon();
                break;
            case MergeOutcome.Refused refused:
                Refuse(refused.Why);
                break;
        }
    }

    private void Refuse(MergeRefusal why)
    {
        Refused = why;
        // Asked for by an address with only one of the two filled in, it is a form, not a failure.
        if (HttpMethods.IsPost(Request.Method))
            Response.StatusCode = StatusCodes.Status400BadRequest;
        else if (string.IsNullOrWhiteSpace(Stays) || string.IsNullOrWhiteSpace(Joins))
            Refused = null;
    }
}

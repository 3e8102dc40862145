using LibraryShelf.Core.Catalog;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

public sealed class NewModel(AddLibrary add) : PageModel
{
    public LibraryForm Form { get; private set; } = new();

    public FormProblems Problems { get; private set; } = FormProblems.None;

    public void OnGet()
    {
    }

    public async Task<IActionResult> OnPostAsync([FromForm] LibraryForm form, CancellationToken cancellationToken)
    {
        Form = form;
        var outcome = await add.RunAsync(form.ToWords(), form.Slug, cancellationToken);
        if (outcome is AddLibraryOutcome.Added added)
        {
            TempData["Said"] = T("The library is added. Start its first version.");
            return Redirect("/workbench/libraries/" + added.Slug);
        }
        Problems = FormProblems.NotSaved(((AddLibraryOutcome.Refused)outcome).Refusals);
        return Page();
    }
}

using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>What the shelf keeps about the one who is signed in, and the files to take it along.</summary>
[Authorize]
internal sealed class DataModel(ReadMyData read) : PageModel
{
    public MyData Data { get; private set; } = new("", default, []);

    public IEnumerable<MyTable> Kept => Data.Tables.Where(t => t.Rows.Count > 0);

    public IEnumerable<MyTable> Empty => Data.Tables.Where(t => t.Rows.Count == 0);

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        Response.Headers.CacheControl = "no-store";
        if (await read.RunAsync(User.PersonId() ?? 0, cancellationToken) is not { } data)
            return Redirect("/sign-in");
        Data = data;
        return Page();
    }
}

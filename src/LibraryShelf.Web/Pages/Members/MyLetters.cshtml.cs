using LibraryShelf.Core.Letters;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authorization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Which mails somebody gets, for them to choose.</summary>
[Authorize]
internal sealed class MyLettersModel(ReadMyLetters read, ChooseLetters choose) : PageModel
{
    public MyLetters Mine { get; private set; } = null!;

    /// <summary>Just kept.</summary>
    public bool IsKept { get; private set; }

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(User.PersonId() ?? 0, cancellationToken) is not { } mine)
            return Redirect("/sign-out");
        Mine = mine;
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string[] wanted, CancellationToken cancellationToken)
    {
        IsKept = await choose.RunAsync(User.PersonId() ?? 0, wanted, cancellationToken);
        return await OnGetAsync(cancellationToken);
    }
}

using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Signs out on this device, by a button only: a link on another site must not be able to.</summary>
internal sealed class SignOutModel(EndDevice end, SignInManager<Person> signIn) : PageModel
{
    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        if (User.PersonId() is { } person && User.DeviceId() is { } device)
            await end.RunAsync(person, device, cancellationToken);
        await signIn.SignOutAsync();
        return LocalRedirect("/");
    }
}

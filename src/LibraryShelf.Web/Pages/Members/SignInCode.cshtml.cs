using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Signs in with the mailed code, for a device other than the one the mail is read on.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class SignInCodeModel(UseSignIn use, SignInManager<Person> signIn) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty] public string? Code { get; set; }

    [BindProperty(Name = "return", SupportsGet = true)] public string? Return { get; set; }

    public bool IsRefused { get; private set; }

    public void OnGet() => Return = this.LocalOrEmpty(Return);

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        if (await use.RunAsync(new SignInProof.Code(Email, Code), cancellationToken) is SignInOutcome.Done done)
            return await this.SignInAndGoOnAsync(signIn, done.Person, Return);
        Return = this.LocalOrEmpty(Return);
        IsRefused = true;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }
}

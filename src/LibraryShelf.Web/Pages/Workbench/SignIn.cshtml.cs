using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The maker's door: a password or a passkey. What is said of a failure never tells whether the address is hers.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class SignInModel(UserManager<Person> people, SignInManager<Person> signIn, IPasswordHasher<Person> passwords, PasskeyDoor door) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty] public string? Password { get; set; }

    [BindProperty(Name = "return", SupportsGet = true)] public string? Return { get; set; }

    public bool IsRefused { get; private set; }

    public bool IsPasskeyRefused { get; private set; }

    /// <summary>Someone is signed in who is not the maker.</summary>
    public string? SignedInAs => User.Identity?.IsAuthenticated == true && !User.IsMaker() ? User.Identity.Name : null;

    public IActionResult OnGet()
    {
        Return = Url.IsLocalUrl(Return) ? Return : "";
        return User.IsMaker() ? LocalRedirect(Return is { Length: > 0 } path ? path : "/workbench") : Page();
    }

    public async Task<IActionResult> OnPostAsync()
    {
        Return = Url.IsLocalUrl(Return) ? Return : "";
        if (await IsLetInAsync())
            return LocalRedirect(Return is { Length: > 0 } path ? path : "/workbench");
        IsRefused = true;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }

    public async Task<IActionResult> OnPostPasskeyChallengeAsync() => Content(await door.AskToShowAsync(), "application/json");

    public async Task<IActionResult> OnPostPasskeyAsync(string? credential)
    {
        Return = Url.IsLocalUrl(Return) ? Return : "";
        if (await door.ShownAsync(credential) is { } maker)
        {
            await signIn.SignInAsync(maker, isPersistent: false);
            return LocalRedirect(Return is { Length: > 0 } path ? path : "/workbench");
        }
        IsPasskeyRefused = true;
        Response.StatusCode = StatusCodes.Status403Forbidden;
        return Page();
    }

    private async Task<bool> IsLetInAsync()
    {
        if (Password is not { Length: > 0 and <= ClaimShelf.LongestPassword } password)
            return false;
        var person = EmailAddress.Tidy(Email) is { } email ? await people.FindByEmailAsync(email) : null;
        if (person is not { IsMaker: true, PasswordHash: not null })
        {
            // Costs the same time as a wrong password, so that a clock can't tell whose address is the maker's.
            passwords.HashPassword(new Person(), password);
            return false;
        }
        var result = await signIn.PasswordSignInAsync(person, password, isPersistent: false, lockoutOnFailure: true);
        // A locked account is not even compared: it would answer faster than a stranger's.
        if (result.IsLockedOut)
            passwords.HashPassword(new Person(), password);
        return result.Succeeded;
    }
}

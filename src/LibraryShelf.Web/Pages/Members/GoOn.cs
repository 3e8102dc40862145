using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>Where someone goes after signing in: only ever a page of this shelf.</summary>
internal static class GoOn
{
    public static string LocalOrEmpty(this PageModel page, string? path) => page.Url.IsLocalUrl(path) ? path! : "";

    /// <summary>Members stay signed in on this device; the maker's sign-in ends with the browser.</summary>
    public static async Task<IActionResult> SignInAndGoOnAsync(
        this PageModel page, SignInManager<Person> signIn, Person person, string? returnPath)
    {
        await signIn.SignInAsync(person, isPersistent: !person.IsMaker);
        var path = page.LocalOrEmpty(returnPath);
        return page.LocalRedirect(path.Length > 0 ? path : person.IsMaker ? "/workbench" : "/mine");
    }
}

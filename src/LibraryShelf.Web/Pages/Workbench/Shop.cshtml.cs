using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What the shop says of itself, and the maker's password.</summary>
internal sealed class ShopModel(ReadShopRow read, EditShop edit, ChangePassword change, SignInManager<Person> signIn) : PageModel
{
    [BindProperty] public ShopFields Shop { get; set; } = new();

    [BindProperty] public int Revision { get; set; }

    public IReadOnlyList<Refusal> Troubles { get; private set; } = [];

    public bool IsChangedMeanwhile { get; private set; }

    public string? PasswordError { get; private set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        if (await read.RunAsync(cancellationToken) is not { } shop)
            return;
        Shop = ShopFields.Of(shop);
        Revision = shop.Revision;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        switch (await edit.RunAsync(Shop.ToForm(), Revision, cancellationToken))
        {
            case EditShopOutcome.Kept:
                return Redirect("/workbench/shop?done=shop");
            case EditShopOutcome.Refused refused:
                Troubles = refused.Troubles;
                break;
            case EditShopOutcome.ChangedMeanwhile:
                IsChangedMeanwhile = true;
                break;
        }
        Response.StatusCode = IsChangedMeanwhile ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest;
        return Page();
    }

    public async Task<IActionResult> OnPostPasswordAsync(string? password, CancellationToken cancellationToken)
    {
        if (await change.RunAsync(User.PersonId() ?? 0, password, cancellationToken) is ChangePasswordOutcome.Changed changed)
        {
            await signIn.RefreshSignInAsync(changed.Maker);
            return Redirect("/workbench/shop?done=password");
        }
        await OnGetAsync(cancellationToken);
        PasswordError = $"The password needs {ClaimShelf.ShortestPassword} characters or more, {ClaimShelf.LongestPassword} at most. The old one still works.";
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }
}

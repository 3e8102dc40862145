using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What the shop says of itself, and how the maker comes in: her password and her passkeys.</summary>
internal sealed class ShopModel(
    ReadShopRow read, EditShop edit, ChangePassword change, ReadPasskeys readPasskeys, PasskeyDoor door, SignInManager<Person> signIn) : PageModel
{
    [BindProperty] public ShopFields Shop { get; set; } = new();

    [BindProperty] public int Revision { get; set; }

    public IReadOnlyList<Refusal> Troubles { get; private set; } = [];

    public bool IsChangedMeanwhile { get; private set; }

    public string? PasswordError { get; private set; }

    public IReadOnlyList<Passkey> Passkeys { get; private set; } = [];

    public string? PasskeyError { get; private set; }

    /// <summary>Of a refused passkey, as typed.</summary>
    public string? PasskeyName { get; private set; }

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public string? DoneWords => Done switch
    {
        "shop" => T("The shop is saved."),
        "shop-price" => T("The shop is saved. What a gigabyte costs you was said in the currency before: say it anew under Numbers, Downloads."),
        "password" => T("The new password works from now on; the workbench closes on other devices within a minute."),
        "passkey" => T("The passkey is added: next time, choose it at the sign-in of the workbench."),
        "removed" => T("The passkey is removed and opens nothing any more; the workbench closes on other devices within a minute."),
        _ => null,
    };

    private long MakerId => User.PersonId() ?? 0;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Passkeys = await readPasskeys.RunAsync(MakerId, cancellationToken);
        if (await read.RunAsync(cancellationToken) is not { } shop)
            return;
        Shop = ShopFields.Of(shop);
        Revision = shop.Revision;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        switch (await edit.RunAsync(Shop.ToForm(), Revision, cancellationToken))
        {
            case EditShopOutcome.Kept kept:
                if (kept.Reminder is { } reminder)
                    TempData["Warned"] = reminder;
                return Redirect(kept.PriceGone ? "/workbench/shop?done=shop-price" : "/workbench/shop?done=shop");
            case EditShopOutcome.Refused refused:
                Troubles = refused.Troubles;
                break;
            case EditShopOutcome.ChangedMeanwhile:
                IsChangedMeanwhile = true;
                break;
        }
        Passkeys = await readPasskeys.RunAsync(MakerId, cancellationToken);
        Response.StatusCode = IsChangedMeanwhile ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest;
        return Page();
    }

    public async Task<IActionResult> OnPostPasswordAsync(string? password, CancellationToken cancellationToken)
    {
        if (await change.RunAsync(MakerId, password, cancellationToken) is ChangePasswordOutcome.Changed changed)
        {
            await signIn.RefreshSignInAsync(changed.Maker);
            return Redirect("/workbench/shop?done=password");
        }
        await OnGetAsync(cancellationToken);
        PasswordError = T($"The password needs {ClaimShelf.ShortestPassword} characters or more, {ClaimShelf.LongestPassword} at most.");
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }

    public async Task<IActionResult> OnPostPasskeyChallengeAsync() =>
        await signIn.UserManager.GetUserAsync(User) is { } maker ? Content(await door.AskToMakeAsync(maker), "application/json") : Forbid();

    public async Task<IActionResult> OnPostPasskeyAsync(string? credential, string? name, [FromServices] KeepPasskey keep, CancellationToken cancellationToken)
    {
        PasskeyError = await door.MadeAsync(credential) is not { } made
            ? T("What the browser sent proves no passkey, or it took too long. Try again.")
            : await keep.RunAsync(MakerId, made, name, cancellationToken) == KeepPasskeyOutcome.TooMany
                ? T($"There are {KeepPasskey.Most} already. Remove one that you use no more, here and on its device.")
                : null;
        if (PasskeyError is null)
            return Redirect("/workbench/shop?done=passkey");
        await OnGetAsync(cancellationToken);
        PasskeyName = name;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return Page();
    }

    public async Task<IActionResult> OnPostRemovePasskeyAsync(string? id, [FromServices] RemovePasskey remove, CancellationToken cancellationToken)
    {
        if (await remove.RunAsync(MakerId, id, cancellationToken) is not { } maker)
            return Redirect("/workbench/shop");
        await signIn.RefreshSignInAsync(maker);
        return Redirect("/workbench/shop?done=removed");
    }
}

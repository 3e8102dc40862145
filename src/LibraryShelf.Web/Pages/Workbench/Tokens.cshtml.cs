using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Upload tokens for the command line: made, listed, revoked.</summary>
internal sealed class TokensModel(ReadUploadTokens read, MakeUploadToken make, RevokeUploadToken revoke, PublicAddress address) : PageModel
{
    public IReadOnlyList<UploadToken> Tokens { get; private set; } = [];

    /// <summary>The token made just now; this answer is the only one that carries it.</summary>
    public string? Made { get; private set; }

    public string ShelfAddress => address.ForPage(Request);

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public async Task OnGetAsync(CancellationToken cancellationToken) => Tokens = await read.RunAsync(cancellationToken);

    public async Task OnPostAsync(string? name, CancellationToken cancellationToken)
    {
        Made = await make.RunAsync(name, cancellationToken);
        Tokens = await read.RunAsync(cancellationToken);
    }

    public async Task<IActionResult> OnPostRevokeAsync(long id, CancellationToken cancellationToken)
    {
        await revoke.RunAsync(id, cancellationToken);
        return Redirect("/workbench/tokens?done=revoked");
    }
}

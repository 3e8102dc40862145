using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Tokens for the command line and for programs that read the figures: made, listed, revoked.</summary>
internal sealed class TokensModel(ReadUploadTokens read, MakeUploadToken make, RevokeUploadToken revoke, PublicAddress address) : PageModel
{
    public IReadOnlyList<UploadToken> Tokens { get; private set; } = [];

    /// <summary>The token made just now; this answer is the only one that carries it.</summary>
    public string? Made { get; private set; }

    /// <summary>What that one opens; of the next one, what is chosen unless she chooses otherwise.</summary>
    public TokenUse Use { get; private set; }

    public string ShelfAddress => address.ForPage(Request);

    [BindProperty(Name = "done", SupportsGet = true)] public string? Done { get; set; }

    public async Task OnGetAsync(CancellationToken cancellationToken) => Tokens = await read.RunAsync(cancellationToken);

    /// <param name="name">For her own memory.</param>
    /// <param name="use">What it opens; anything unheard of opens the least, sending being more.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task OnPostAsync(string? name, string? use, CancellationToken cancellationToken)
    {
        Use = use == nameof(TokenUse.Send) ? TokenUse.Send : TokenUse.ReadNumbers;
        Made = await make.RunAsync(name, cancellationToken, Use);
        Tokens = await read.RunAsync(cancellationToken);
    }

    public async Task<IActionResult> OnPostRevokeAsync(long id, CancellationToken cancellationToken)
    {
        await revoke.RunAsync(id, cancellationToken);
        return Redirect("/workbench/tokens?done=revoked");
    }
}

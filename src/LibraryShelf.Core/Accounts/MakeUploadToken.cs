using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Accounts;

/// <summary>Makes a token: for the command line, or for a program that reads the figures.</summary>
public sealed class MakeUploadToken(ShelfDb db, TimeProvider clock)
{
    /// <summary>Lets people (and searchers for leaked secrets) see what the string is.</summary>
    private const string Prefix = "shelf_";

    /// <param name="name">For the maker's own memory; an empty one becomes "Unnamed".</param>
    /// <param name="cancellationToken">Ends it before anything is written.</param>
    /// <param name="use">What it opens.</param>
    /// <returns>The token itself, which is not kept: show it once.</returns>
    public async Task<string> RunAsync(string? name, CancellationToken cancellationToken, TokenUse use = TokenUse.Send)
    {
        var token = Prefix + Secrets.NewToken();
        var said = string.IsNullOrWhiteSpace(name) ? T("Unnamed") : name.Trim();
        db.UploadTokens.Add(new UploadToken
        {
            Name = ShortText.Of(said, 80),
            Use = use,
            TokenHash = Secrets.Hash(token),
            CreatedAt = clock.GetUtcNow(),
        });
        await db.SaveChangesAsync(cancellationToken);
        return token;
    }
}

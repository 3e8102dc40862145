using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Accounts;

/// <summary>Makes an upload token for the command line.</summary>
public sealed class MakeUploadToken(ShelfDb db, TimeProvider clock)
{
    /// <summary>Lets people (and searchers for leaked secrets) see what the string is.</summary>
    private const string Prefix = "shelf_";

    /// <param name="name">For the maker's own memory; an empty one becomes "Unnamed".</param>
    /// <returns>The token itself, which is not kept: show it once.</returns>
    public async Task<string> RunAsync(string? name, CancellationToken cancellationToken)
    {
        var token = Prefix + Secrets.NewToken();
        var said = string.IsNullOrWhiteSpace(name) ? "Unnamed" : name.Trim();
        db.UploadTokens.Add(new UploadToken
        {
            Name = ShortText.Of(said, 80),
            TokenHash = Secrets.Hash(token),
            CreatedAt = clock.GetUtcNow(),
        });
        await db.SaveChangesAsync(cancellationToken);
        return token;
    }
}

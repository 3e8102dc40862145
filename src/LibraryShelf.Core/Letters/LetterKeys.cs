using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <summary>The key in a person's links that stop mails.</summary>
internal static class LetterKeys
{
    /// <summary>128 bits in base64url.</summary>
    private const int Length = 22;

    /// <summary>Theirs, made now if they have none yet. Null: there is no such person.</summary>
    public static async Task<string?> OfAsync(ShelfDb db, long personId, CancellationToken cancellationToken)
    {
        var theirs = db.Users.Where(p => p.Id == personId).Select(p => p.LetterKey);
        if (await theirs.FirstOrDefaultAsync(cancellationToken) is { } key)
            return key;
        var made = Secrets.NewKey();
        await db.Users.Where(p => p.Id == personId && p.LetterKey == null).ExecuteUpdateAsync(s => s.SetProperty(p => p.LetterKey, made), cancellationToken);
        // Somebody else may have made one at the same moment; the first stands.
        return await theirs.FirstOrDefaultAsync(cancellationToken);
    }

    /// <summary>Whether a key can look like this: one that can't was altered or cut off.</summary>
    public static bool IsWhole(string key) => key.Length == Length && key.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '_');
}

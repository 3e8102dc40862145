using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <param name="Kinds">Every kind that may come to this person, and whether they want it.</param>
/// <param name="Followed">Libraries that their proved addresses follow, with the key of the page that stops it; by title.</param>
/// <param name="RefusedByMailbox">What the mailbox said when it refused for good; null: mails arrive, as far as the shelf knows.</param>
public sealed record MyLetters(IReadOnlyList<(LetterKind Kind, bool IsWanted)> Kinds, IReadOnlyList<(string Title, string Key)> Followed, string? RefusedByMailbox);

/// <summary>Which mails somebody gets.</summary>
public sealed class ReadMyLetters(ShelfDb db)
{
    /// <returns>Null: there is no such person.</returns>
    public async Task<MyLetters?> RunAsync(long personId, CancellationToken cancellationToken)
    {
        if (await People.FindAsync(db, personId, cancellationToken) is not { } person)
            return null;
        var refused = await db.MailRefusals.Where(r => r.PersonId == person.Id).Select(r => r.Kind).ToListAsync(cancellationToken);
        // Of every address that is theirs and proved: paying alone proves none, and what an address follows is told to who reads its mails.
        var proved = await db.Users.Where(p => (p.Id == person.Id || p.MergedIntoId == person.Id) && p.EmailConfirmed && p.NormalizedEmail != null)
            .Select(p => p.NormalizedEmail!).ToListAsync(cancellationToken);
        var followed = await db.Followers.Where(f => proved.Contains(f.NormalizedEmail) && f.ConfirmedAt != null)
            .Join(db.Libraries, f => f.LibraryId, l => l.Id, (f, l) => new { l.Title, f.Key }).ToListAsync(cancellationToken);
        return new(
            [.. LetterKinds.For(person.IsMaker).Select(k => (k, !refused.Contains(k.Kind)))],
            [.. followed.OrderBy(f => f.Title, StringComparer.CurrentCultureIgnoreCase).Select(f => (f.Title, f.Key))],
            await db.MailSuppressions.Where(s => s.NormalizedEmail == person.NormalizedEmail && proved.Contains(s.NormalizedEmail)).Select(s => s.Because).FirstOrDefaultAsync(cancellationToken));
    }
}

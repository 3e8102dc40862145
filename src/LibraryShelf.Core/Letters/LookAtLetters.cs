using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <param name="Kind">Which kind the link is about.</param>
/// <param name="Library">Of a follower's link: the library; null: a person's.</param>
/// <param name="IsRefused">They get none.</param>
public sealed record LettersLook(LetterKind Kind, string? Library, bool IsRefused);

/// <summary>What the link in a mail that stops its kind is about. Only looks, because mail scanners open links.</summary>
public sealed class LookAtLetters(ShelfDb db)
{
    /// <returns>Null: the link is not whole. A whole one that is nobody's any more counts as refused.</returns>
    public async Task<LettersLook?> RunAsync(string key, string slug, CancellationToken cancellationToken)
    {
        if (!LetterKeys.IsWhole(key) || LetterKinds.Find(slug) is not { } kind)
            return null;
        var holder = await KeyHolder.FindAsync(db, key, cancellationToken);
        if (holder?.LibraryId is { } library && kind.Kind == MailKind.Follow)
            return new(kind, await db.Libraries.Where(l => l.Id == library).Select(l => l.Title).FirstOrDefaultAsync(cancellationToken), IsRefused: false);
        return new(kind, null, holder?.PersonId is not { } person || await db.MailRefusals.AnyAsync(r => r.PersonId == person && r.Kind == kind.Kind, cancellationToken));
    }
}

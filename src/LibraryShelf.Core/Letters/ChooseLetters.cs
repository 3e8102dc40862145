using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Letters;

/// <summary>Keeps which kinds of mail somebody signed in wants, all at once.</summary>
public sealed class ChooseLetters(ShelfDb db, TimeProvider clock)
{
    /// <param name="personId">Who is signed in.</param>
    /// <param name="wanted">Slugs of the kinds they want; every other that may come to them is refused. Unknown ones are passed over.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    /// <returns>False: there is no such person.</returns>
    public async Task<bool> RunAsync(long personId, IReadOnlyCollection<string> wanted, CancellationToken cancellationToken)
    {
        if (await People.FindAsync(db, personId, cancellationToken) is not { } person)
            return false;
        return await FreshEyes.LookAsync(db, async () =>
        {
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            foreach (var kind in LetterKinds.For(person.IsMaker))
                await KindChoice.WriteAsync(db, person.Id, kind.Kind, !wanted.Contains(kind.Slug), clock.GetUtcNow(), cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            return true;
        }, () => true);
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <param name="Html">A whole page of its own.</param>
public sealed record LetterShown(string Subject, string Text, string Html)
{
    /// <summary>With the way out that such letters have; the maker's own, because it is nobody's yet.</summary>
    internal static LetterShown Of((string Subject, string Text) letter, LetterDesk desk)
    {
        var text = LetterWords.WithWayOut(letter.Text, LetterKinds.Find(MailKind.Drop)!, desk.Address is { } address ? $"{address}/mine/letters" : null);
        return new(letter.Subject, text, MailHtml.Of(letter.Subject, text));
    }
}

/// <summary>A drop's letter as it would be sent now, to a member who has none of its libraries yet.</summary>
public sealed class ShowLetter(ShelfDb db, IOptions<ShelfSettings> settings)
{
    /// <returns>Null: there is no such drop, or there is nothing in it.</returns>
    public async Task<LetterShown?> RunAsync(long dropId, CancellationToken cancellationToken)
    {
        var desk = new LetterDesk(await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), LetterDesk.AddressOf(settings.Value.PublicUrl));
        return await PlannedLetter.WriteAsync(db, dropId, personId: null, desk, cancellationToken) is { } letter ? LetterShown.Of(letter, desk) : null;
    }
}

/// <summary>The letter of a drop that is still planned, for the maker's eyes: also with versions that are not sealed yet.</summary>
internal static class PlannedLetter
{
    /// <param name="db">Where to read.</param>
    /// <param name="dropId">Which.</param>
    /// <param name="personId">Whose updates it names; null: nobody's.</param>
    /// <param name="desk">Who writes.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>Null: there is no such drop, or there is nothing in it.</returns>
    public static async Task<(string Subject, string Text)?> WriteAsync(ShelfDb db, long dropId, long? personId, LetterDesk desk, CancellationToken cancellationToken)
    {
        if (await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == dropId, cancellationToken) is not { } drop)
            return null;
        var ids = await db.DropReleases.Where(r => r.DropId == dropId).OrderBy(r => r.Place).Select(r => r.ReleaseId).ToListAsync(cancellationToken);
        var releases = (await LetterRelease.LoadAsync(db, ids, personId, cancellationToken)).Where(r => r.Release.State != ReleaseState.Withdrawn).ToList();
        return releases.Count == 0 ? null : DropLetter.Write(drop, releases, desk);
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

/// <summary>The mails that a version's coming to the shelf is the answer to, each written once by its cause. The caller saves them with it.</summary>
/// <param name="db">The release is not saved as published there yet.</param>
/// <param name="release">With its players, its library and that one's audiences.</param>
/// <param name="shelfAddress">Without a slash at its end; null: the mails name no address.</param>
/// <param name="now">The instant of publishing.</param>
internal sealed class PublishMails(ShelfDb db, Release release, string? shelfAddress, DateTimeOffset now)
{
    public async Task WriteAsync(CancellationToken cancellationToken)
    {
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        await TellOfMendedFaults.WriteAsync(db, release, shop, shelfAddress, now, cancellationToken);
        var withdrawn = await db.Releases.AsNoTracking()
            .Where(r => r.LibraryId == release.LibraryId && r.State == ReleaseState.Withdrawn).ToListAsync(cancellationToken);
        foreach (var older in withdrawn.Where(w => ReleaseNumbers.ByPrecedence.Compare(w.Number, release.Number) < 0))
            await OfferAsync(older, shop, cancellationToken);
    }

    /// <summary>To those who were told that this version was withdrawn, were offered none instead, and may have this one.</summary>
    private async Task OfferAsync(Release withdrawn, Shop? shop, CancellationToken cancellationToken)
    {
        var library = release.Library;
        var offeredThen = await NewerVersions.LoadAsync(db, withdrawn, library, withdrawn.WithdrawnAt!.Value, comes: null, cancellationToken);
        var offeredNow = await NewerVersions.LoadAsync(db, withdrawn, library, now, release, cancellationToken);
        var told = await ToldAsync(withdrawn, cancellationToken);
        foreach (var person in await Fetchers.Of(db, withdrawn.Id).ToListAsync(cancellationToken))
        {
            var cause = WithdrawnMail.OfferedLater(withdrawn.Id, person.PersonId);
            if (told.Contains(cause) || !told.Contains(WithdrawnMail.Told(withdrawn.Id, person.PersonId))
                || offeredThen.For(person.PersonId) is not null || offeredNow.For(person.PersonId)?.Id != release.Id)
                continue;
            var (subject, text) = WithdrawnMail.Mended(withdrawn, release, library, shop, shelfAddress);
            db.Outbox.Add(new OutboxMail { Cause = cause, To = person.Email, Subject = subject, Text = text, CreatedAt = now });
        }
    }

    private async Task<HashSet<string>> ToldAsync(Release withdrawn, CancellationToken cancellationToken)
    {
        var (told, offered) = (WithdrawnMail.ToldOf(withdrawn.Id), WithdrawnMail.OfferedLaterFor(withdrawn.Id));
        return [.. await db.Outbox.Where(m => m.Cause.StartsWith(told) || m.Cause.StartsWith(offered)).Select(m => m.Cause).ToListAsync(cancellationToken)];
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

public enum RefuseOutcome
{
    /// <summary>No more mails of this kind go there; also when none went before.</summary>
    Refused,
    /// <summary>They go again.</summary>
    Wanted,
    /// <summary>Nobody has this key (any more): a person who was deleted, or somebody who stopped following. No mail goes there by it.</summary>
    Nobody,
    /// <summary>The address was altered or cut off; nothing is changed.</summary>
    NotWhole,
}

/// <summary>By the link in a mail: no more mails of its kind, or again. Doing it twice is doing it once. Of a follower's mail, the following ends.</summary>
public sealed class RefuseKind(ShelfDb db, TimeProvider clock)
{
    /// <param name="key">A person's or a follower's, from the link.</param>
    /// <param name="slug">Of the kind (<see cref="LetterKind.Slug"/>).</param>
    /// <param name="refuses">False: they are wanted again.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public async Task<RefuseOutcome> RunAsync(string key, string slug, bool refuses, CancellationToken cancellationToken)
    {
        if (!LetterKeys.IsWhole(key) || LetterKinds.Find(slug) is not { } kind)
            return RefuseOutcome.NotWhole;
        if (await KeyHolder.FindAsync(db, key, cancellationToken) is not { } holder)
            return RefuseOutcome.Nobody;
        if (holder.PersonId is { } person)
        {
            await FreshEyes.LookAsync(db, () => KindChoice.WriteAsync(db, person, kind.Kind, refuses, clock.GetUtcNow(), cancellationToken), () => false);
            return refuses ? RefuseOutcome.Refused : RefuseOutcome.Wanted;
        }
        // Whoever stopped following is not known any more: they ask again at the box.
        if (!refuses || kind.Kind != MailKind.Follow)
            return RefuseOutcome.Nobody;
        await db.Followers.Where(f => f.Key == key).ExecuteDeleteAsync(cancellationToken);
        return RefuseOutcome.Refused;
    }
}

/// <summary>Whose key it is: a person's, or a follower's of one library.</summary>
internal sealed record KeyHolder(long? PersonId, long? LibraryId)
{
    public static async Task<KeyHolder?> FindAsync(ShelfDb db, string key, CancellationToken cancellationToken)
    {
        if (await db.Users.Where(p => p.LetterKey == key && p.DeletedAt == null).Select(p => new { p.Id, p.MergedIntoId }).FirstOrDefaultAsync(cancellationToken) is { } person)
            return new(person.MergedIntoId ?? person.Id, null);
        var library = await db.Followers.Where(f => f.Key == key).Select(f => (long?)f.LibraryId).FirstOrDefaultAsync(cancellationToken);
        return library is null ? null : new(null, library);
    }
}

/// <summary>Writes down what somebody chose about one kind.</summary>
internal static class KindChoice
{
    /// <returns>Whether anything changed.</returns>
    public static async Task<bool> WriteAsync(ShelfDb db, long personId, MailKind kind, bool refuses, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var theirs = db.MailRefusals.Where(r => r.PersonId == personId && r.Kind == kind);
        if (!refuses)
            return await theirs.ExecuteDeleteAsync(cancellationToken) > 0;
        if (await theirs.AnyAsync(cancellationToken))
            return false;
        db.MailRefusals.Add(new MailRefusal { PersonId = personId, Kind = kind, At = now });
        await db.SaveChangesAsync(cancellationToken);
        return true;
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Mail;

/// <summary>A mail to write, unless one of its cause was written before.</summary>
internal sealed record WrittenMail(string Cause, string To, string Subject, string Text)
{
    public long? PersonId { get; init; }

    /// <summary>Of one that is composed when it is sent.</summary>
    public long? AboutId { get; init; }

    /// <summary>One without address and text, both of which are found when it is sent.</summary>
    /// <param name="cause">As the step Letters reads it.</param>
    /// <param name="aboutId">What it is about.</param>
    /// <param name="personId">Whom it goes to; null: the cause says it.</param>
    public static WrittenMail Later(string cause, long aboutId, long? personId) => new(cause, "", "", "") { AboutId = aboutId, PersonId = personId };
}

/// <summary>Where mails about a version are written: who writes, from where, when. They are saved by the caller, in its transaction.</summary>
internal sealed class MailDesk
{
    private readonly ShelfDb _db;

    private MailDesk(ShelfDb db, Shop? shop, string? address, DateTimeOffset now) => (_db, Shop, Address, Now) = (db, shop, address, now);

    public Shop? Shop { get; }

    /// <summary>The shelf's, without a slash at its end; null: mails name no address.</summary>
    public string? Address { get; }

    public DateTimeOffset Now { get; }

    public static async Task<MailDesk> OpenAsync(ShelfDb db, string? address, DateTimeOffset now, CancellationToken cancellationToken) =>
        new(db, await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), address, now);

    /// <param name="mails">At most a few hundred: each cause is a parameter of the question which of them were written before.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task WriteAsync(IReadOnlyCollection<WrittenMail> mails, CancellationToken cancellationToken)
    {
        var causes = mails.Select(m => m.Cause).ToList();
        var written = (await _db.Outbox.Where(m => causes.Contains(m.Cause)).Select(m => m.Cause).ToListAsync(cancellationToken)).ToHashSet(StringComparer.Ordinal);
        _db.Outbox.AddRange(mails.Where(m => written.Add(m.Cause))
            .Select(m => new OutboxMail { Cause = m.Cause, PersonId = m.PersonId, AboutId = m.AboutId, To = m.To, Subject = m.Subject, Text = m.Text, CreatedAt = Now }));
    }
}

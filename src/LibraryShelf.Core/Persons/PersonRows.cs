using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>
/// Which rows are one person's. Most name the person; mails, tickets and joinings begun signed out name an address, so all addresses are
/// needed: today's, those of accounts merged into this one, and those changed away from, unless somebody else has that one now.
/// </summary>
/// <param name="Merged">The rows that are other addresses of this person.</param>
/// <param name="Normalized">Addresses as they are compared.</param>
/// <param name="Written">The same as they were typed at one time or another: mails hold those.</param>
internal sealed record PersonRows(Person Person, IReadOnlyList<Person> Merged, IReadOnlyList<string> Normalized, IReadOnlyList<string> Written)
{
    public long Id => Person.Id;

    /// <summary>Theirs and those of accounts merged into it; as rows name them.</summary>
    private List<long?> Ids => [Id, .. Merged.Select(m => m.Id)];

    /// <summary>Those they have shown to read mails at. Paying proves none: what others did by an address is not told by it.</summary>
    public IReadOnlyList<string> Proved => [.. Normalized.Except(Merged.Append(Person).Where(p => !p.EmailConfirmed).Select(p => p.NormalizedEmail ?? ""), StringComparer.Ordinal)];

    /// <summary>The account, and those merged into it: a press in the minute after that stands under theirs until it is moved.</summary>
    public static Task<long[]> AccountsAsync(ShelfDb db, long id, CancellationToken cancellationToken) =>
        db.Users.Where(p => p.Id == id || p.MergedIntoId == id).Select(p => p.Id).ToArrayAsync(cancellationToken);

    /// <returns>Null: there is no such person, or the row is deleted, or merged into another.</returns>
    public static async Task<PersonRows?> FindAsync(ShelfDb db, long personId, CancellationToken cancellationToken)
    {
        var person = await db.Users.AsNoTracking()
            .SingleOrDefaultAsync(p => p.Id == personId && p.DeletedAt == null && p.MergedIntoId == null, cancellationToken);
        if (person?.NormalizedEmail is not { } address)
            return null;
        var merged = await db.Users.AsNoTracking().Where(p => p.MergedIntoId == personId).OrderBy(p => p.Id).ToListAsync(cancellationToken);
        var before = await FormerAsync(db, [personId, .. merged.Select(m => m.Id)], cancellationToken);
        string[] normalized = [.. new[] { address }.Concat(merged.Select(m => m.NormalizedEmail ?? "")).Concat(before).Where(a => a.Length > 0).Distinct(StringComparer.Ordinal)];
        var typed = await db.SignInTickets.Where(t => normalized.Contains(t.NormalizedEmail)).Select(t => t.Email)
            .Union(db.Joinings.Where(j => normalized.Contains(j.NormalizedEmail)).Select(j => j.Email)).ToListAsync(cancellationToken);
        string[] written = [.. typed.Append(person.Email ?? "").Concat(merged.Select(m => m.Email ?? "")).Where(a => a.Length > 0).Distinct(StringComparer.Ordinal)];
        return new(person, merged, normalized, written);
    }

    /// <summary>Joinings begun signed in name the person; others are told by the address.</summary>
    public IQueryable<Joining> Joinings(ShelfDb db) =>
        db.Joinings.Where(j => j.PersonId == Id || (j.PersonId == null && Normalized.Contains(j.NormalizedEmail)));

    /// <summary>The upper case is the database's, which on SQLite knows ASCII alone; what is beyond is found as it was typed.</summary>
    public IQueryable<Mail.OutboxMail> Mails(ShelfDb db) =>
        db.Outbox.Where(m => Ids.Contains(m.PersonId) || Written.Contains(m.To) || Normalized.Contains(m.To.ToUpper()));

    public IQueryable<Mail.MailSuppression> Suppressions(ShelfDb db) => db.MailSuppressions.Where(s => Normalized.Contains(s.NormalizedEmail));

    public IQueryable<Mail.Follower> Followed(ShelfDb db) => db.Followers.Where(f => Normalized.Contains(f.NormalizedEmail));

    public IQueryable<SignInTicket> Tickets(ShelfDb db) => db.SignInTickets.Where(t => Normalized.Contains(t.NormalizedEmail));

    private static async Task<IEnumerable<string>> FormerAsync(ShelfDb db, long[] ids, CancellationToken cancellationToken)
    {
        var old = await db.AddressChanges.Where(c => ids.Contains(c.PersonId) && c.OldSaidYesAt != null && c.NewSaidYesAt != null)
            .Select(c => c.OldEmail).ToListAsync(cancellationToken);
        var normalized = old.ConvertAll(EmailAddress.Normalize);
        var others = await db.Users.Where(p => !ids.Contains(p.Id) && normalized.Contains(p.NormalizedEmail!)).Select(p => p.NormalizedEmail!).ToListAsync(cancellationToken);
        return normalized.Except(others, StringComparer.Ordinal);
    }
}

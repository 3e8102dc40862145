using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>What is kept to know somebody again and to write to them.</summary>
internal sealed class MyPersonTables(ShelfDb db, PersonRows rows)
{
    public MyTable You()
    {
        var person = rows.Person;
        return new("you", T("You"), T("Your address, to know you again and to write to you."),
            ["address", "alsoSignsInAs", "knownSince", "addressProved", "isMaker", "visitedAt", "visitBeforeEndedAt"],
            [[person.Email, string.Join("; ", rows.Merged.Select(m => m.Email)), person.CreatedAt, person.EmailConfirmed, person.IsMaker, person.VisitedAt, person.VisitedBefore]]);
    }

    public async Task<MyTable> AddressChangesAsync(CancellationToken cancellationToken) => new(
        "address-changes", T("Changes of address"), T("So that both mailboxes can say yes before it changes."),
        ["oldAddress", "newAddress", "askedAt", "oldSaidYesAt", "newSaidYesAt", "endedAt"],
        [.. (await db.AddressChanges.AsNoTracking().Where(c => c.PersonId == rows.Id).OrderBy(c => c.Id).ToListAsync(cancellationToken))
            .Select(c => new object?[] { c.OldEmail, c.NewEmail, c.AskedAt, c.OldSaidYesAt, c.NewSaidYesAt, c.EndedAt })]);

    public async Task<MyTable> SignInsAsync(CancellationToken cancellationToken) => new(
        "sign-in-mails", T("Links asked for by mail"), T("So that each link works once, and for a short while."),
        ["address", "purpose", "askedAt", "worksUntil", "usedAt"],
        [.. (await rows.Tickets(db).AsNoTracking().OrderBy(t => t.Id).ToListAsync(cancellationToken))
            .Select(t => new object?[] { t.Email, t.Purpose.ToString(), t.CreatedAt, t.ExpiresAt, t.UsedAt })]);

    public async Task<MyTable> PasskeysAsync(CancellationToken cancellationToken) => new(
        "passkeys", T("Passkeys"), T("Their public halves, to sign in without a password."),
        ["name", "addedAt"],
        [.. (await db.Set<IdentityUserPasskey<long>>().AsNoTracking().Where(k => k.UserId == rows.Id).ToListAsync(cancellationToken))
            .OrderBy(k => k.Data.CreatedAt).Select(k => new object?[] { k.Data.Name, k.Data.CreatedAt })]);

    public async Task<MyTable> DevicesAsync(CancellationToken cancellationToken) => new(
        "devices", T("Where you are signed in"), T("So that you can sign out from afar."),
        ["device", "signedInAt", "seenAt", "endedAt"],
        [.. (await db.Devices.AsNoTracking().Where(d => d.PersonId == rows.Id).OrderBy(d => d.Id).ToListAsync(cancellationToken))
            .Select(d => new object?[] { d.Words, d.SignedInAt, d.SeenAt, d.EndedAt })]);

    /// <summary>What a mail said is gone once it was sent; until then it may carry a link that signs in.</summary>
    public async Task<MyTable> MailsAsync(CancellationToken cancellationToken) => new(
        "mails", T("Mails written to you"), T("So that none is lost and none is written twice. Their text is emptied once they are sent."),
        ["to", "subject", "writtenAt", "sentAt", "gaveUpAt"],
        [.. (await rows.Mails(db).AsNoTracking().OrderBy(m => m.Id).ToListAsync(cancellationToken))
            // Which libraries an address follows is for who reads its mails.
            .Where(m => !m.Cause.StartsWith("follow", StringComparison.Ordinal) || rows.Proved.Contains(EmailAddress.Normalize(m.To)))
            .Select(m => new object?[] { m.To, m.Subject, m.CreatedAt, m.SentAt, m.GaveUpAt })]);

    public async Task<MyTable> RefusalsAsync(CancellationToken cancellationToken) => new(
        "refused-mails", T("Kinds of mail you want none of"), T("So that you get none."),
        ["kind", "since"],
        [.. (await db.MailRefusals.AsNoTracking().Where(r => r.PersonId == rows.Id).OrderBy(r => r.At).ThenBy(r => r.Id).ToListAsync(cancellationToken))
            .Select(r => new object?[] { r.Kind.ToString(), r.At })]);

    public async Task<MyTable> SuppressionsAsync(CancellationToken cancellationToken) => new(
        "closed-mailboxes", T("Mailboxes of yours that refused for good"), T("So that they are not knocked at again."),
        ["because", "since"],
        [.. (await rows.Suppressions(db).Where(s => rows.Proved.Contains(s.NormalizedEmail)).AsNoTracking().OrderBy(s => s.Id).ToListAsync(cancellationToken)).Select(s => new object?[] { s.Because, s.At })]);

    public async Task<MyTable> FollowedAsync(CancellationToken cancellationToken) => new(
        "followed", T("Libraries you follow"), T("To write to you when they have a new version."),
        ["box", "address", "askedAt", "saidYesAt"],
        [.. (await rows.Followed(db).Where(f => rows.Proved.Contains(f.NormalizedEmail)).Join(db.Libraries, f => f.LibraryId, l => l.Id, (f, l) => new { l.Title, f.Id, f.Email, f.AskedAt, f.ConfirmedAt })
                .OrderBy(f => f.Id).ToListAsync(cancellationToken))
            .Select(f => new object?[] { f.Title, f.Email, f.AskedAt, f.ConfirmedAt })]);
}

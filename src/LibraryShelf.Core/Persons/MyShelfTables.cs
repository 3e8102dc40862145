using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Persons;

/// <summary>What somebody was given, fetched and told of.</summary>
internal sealed class MyShelfTables(ShelfDb db, PersonRows rows)
{
    public async Task<MyTable> GrantsAsync(CancellationToken cancellationToken) => new(
        "memberships-given", T("Memberships given to you"), T("So that members’ boxes open for you. The note is the maker’s."),
        ["from", "until", "note"],
        [.. (await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == rows.Id).OrderBy(g => g.Id).ToListAsync(cancellationToken))
            .Select(g => new object?[] { g.From, g.Until, g.Note })]);

    public async Task<MyTable> ImportsAsync(CancellationToken cancellationToken) => new(
        "lists", T("Lists you came from"), T("Where the maker has your address from, and what you agreed to there, in the maker’s words."),
        ["source", "consentOfAll", "consentOfYou", "broughtAt", "claimedAt"],
        [.. (await (from m in db.ImportedMembers
                    join i in db.MemberImports on m.ImportId equals i.Id
                    where m.PersonId == rows.Id
                    orderby i.Id
                    select new { i.Source, All = i.Consent, Own = m.Consent, i.ImportedAt, m.ClaimedAt }).ToListAsync(cancellationToken))
            .Select(i => new object?[] { i.Source, i.All, i.Own, i.ImportedAt, i.ClaimedAt })]);

    public async Task<MyTable> EarlyVersionsAsync(CancellationToken cancellationToken) => new(
        "early-versions", T("Versions given to you early"), T("So that they open for you before they are on the shelf."),
        ["box", "version", "givenAt"],
        [.. (await (from g in db.EarlyGuests
                    join r in db.Releases on g.ReleaseId equals r.Id
                    where g.PersonId == rows.Id
                    orderby g.AddedAt, r.Id
                    select new { r.Library.Title, r.Number, g.AddedAt }).ToListAsync(cancellationToken))
            .Select(g => new object?[] { g.Title, g.Number, g.AddedAt })]);

    public async Task<MyTable> DownloadsAsync(CancellationToken cancellationToken) => new(
        "downloads", T("Downloads"), T("So that what you took while it was free stays yours, and the maker can count."),
        ["box", "version", "fromVersion", "wholeMonth", "madeAt", "startedAt", "finishedAt", "closedAt", "why"],
        [.. (await (from d in db.Downloads
                    join r in db.Releases on d.ReleaseId equals r.Id
                    join t in db.DownloadTallies on d.Id equals t.DownloadId into tallies
                    from t in tallies.DefaultIfEmpty()
                    join f in db.Releases on d.FromReleaseId equals (long?)f.Id into froms
                    from f in froms.DefaultIfEmpty()
                    join m in db.Drops on d.DropId equals (long?)m.Id into drops
                    from m in drops.DefaultIfEmpty()
                    where d.PersonId == rows.Id
                    orderby d.MadeAt, d.Id
                    select new { r.Library.Title, r.Number, From = f!.Number, Month = (YearMonth?)m!.Month, d.MadeAt, d.StartedAt, t!.FinishedAt, d.RevokedAt, d.Why }).ToListAsync(cancellationToken))
            .Select(d => new object?[] { d.Title, d.Number, d.From, d.Month is { } month ? YearMonthPattern.Iso.Format(month) : null, d.MadeAt, d.StartedAt, d.FinishedAt, d.RevokedAt, d.Why.ToString() })]);

    public async Task<MyTable> VersionsAsync(CancellationToken cancellationToken) => new(
        "versions", T("Versions you finished downloading"), T("So that the maker sees which versions people have. Worked out of your downloads: each that was your newest."),
        ["box", "version", "since"],
        [.. (await (from v in db.PersonVersions
                    join r in db.Releases on v.ReleaseId equals r.Id
                    where v.PersonId == rows.Id
                    orderby v.Since, r.Id
                    select new { r.Library.Title, r.Number, v.Since }).ToListAsync(cancellationToken))
            .Select(v => new object?[] { v.Title, v.Number, v.Since })]);

    public async Task<MyTable> FirstsAsync(CancellationToken cancellationToken) => new(
        "first-free-download", T("Your first free download"), T("So that the maker can count how many join after one."),
        ["finishedAt"],
        [.. (await db.PersonFirsts.AsNoTracking().Where(f => f.PersonId == rows.Id).ToListAsync(cancellationToken)).Select(f => new object?[] { f.FreeAt })]);

    public async Task<MyTable> FaultsAsync(CancellationToken cancellationToken) => new(
        "faults", T("Faults you told of"), T("So that they can be mended and you can be answered."),
        ["box", "version", "key", "recording", "words", "toldAt", "settledAt", "answer", "answeredAt"],
        [.. (await (from f in db.FaultReports
                    join r in db.Releases on f.ReleaseId equals r.Id
                    where f.PersonId == rows.Id
                    orderby f.Id
                    select new { r.Library.Title, r.Number, f.Key, f.Path, f.Words, f.ReportedAt, f.SettledAt, f.Answer, f.ToldAt }).ToListAsync(cancellationToken))
            .Select(f => new object?[] { f.Title, f.Number, f.Key, f.Path, f.Words, f.ReportedAt, f.SettledAt, f.Answer, f.ToldAt })]);

    public async Task<MyTable> WithdrawalsAsync(CancellationToken cancellationToken) => new(
        "withdrawals", T("Withdrawn versions you were told of"), T("So that you are told once, and again when a better one is there."),
        ["box", "version", "toldAt", "offeredVersion"],
        [.. (await (from n in db.WithdrawalNotices
                    join r in db.Releases on n.ReleaseId equals r.Id
                    join o in db.Releases on n.OfferedReleaseId equals (long?)o.Id into offers
                    from o in offers.DefaultIfEmpty()
                    where n.PersonId == rows.Id
                    orderby n.ToldAt, r.Id
                    select new { r.Library.Title, r.Number, n.ToldAt, Offered = o!.Number }).ToListAsync(cancellationToken))
            .Select(n => new object?[] { n.Title, n.Number, n.ToldAt, n.Offered })]);
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Letters.Runs;

/// <param name="Run">Which mails.</param>
/// <param name="Gone">How far they are.</param>
/// <param name="Month">Of a drop or a month that slips; null: of neither.</param>
/// <param name="Version">Of the others, "Salt Jar 2.1.0"; "" where it is gone.</param>
public sealed record StoppedMails(MailRun Run, MailsGone Gone, YearMonth? Month, string Version);

/// <summary>All mails to many that the maker stopped and that still wait for her; the longest stopped first.</summary>
public sealed class ListStoppedMails(ShelfDb db)
{
    public async Task<IReadOnlyList<StoppedMails>> RunAsync(CancellationToken cancellationToken)
    {
        var found = new List<StoppedMails>();
        foreach (var begins in await db.MailHolds.OrderBy(h => h.At).ThenBy(h => h.Begins).Select(h => h.Begins).ToListAsync(cancellationToken))
        {
            if (MailRun.Of(begins) is not { } run)
                continue;
            var month = run.Kind is MailRunKind.Drop or MailRunKind.Slip
                ? await db.Drops.Where(d => d.Id == run.AboutId).Select(d => (YearMonth?)d.Month).SingleOrDefaultAsync(cancellationToken) : null;
            var version = month is null
                ? await db.Releases.Where(r => r.Id == run.AboutId).Select(r => r.Library.Title + " " + r.Number).SingleOrDefaultAsync(cancellationToken) : null;
            found.Add(new(run, await MailRuns.GoneAsync(db, run, cancellationToken), month, version ?? ""));
        }
        return found;
    }
}

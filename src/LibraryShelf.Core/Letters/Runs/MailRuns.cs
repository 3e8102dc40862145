using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters.Runs;

/// <summary>What all of <see cref="MailRun"/> ask of the database.</summary>
internal static class MailRuns
{
    public static async Task<MailsGone> GoneAsync(ShelfDb db, MailRun run, CancellationToken cancellationToken)
    {
        var (written, sent, left, up) = (0, 0, 0, 0);
        var telling = await TellingAsync(db, run, cancellationToken);
        foreach (var begins in run.Begins)
        {
            // As a range of causes, which their index answers: ';' is what comes after ':'.
            var end = begins[..^1] + ";";
            if (await db.Outbox.Where(m => string.Compare(m.Cause, begins) >= 0 && string.Compare(m.Cause, end) < 0 && m.Cause.EndsWith(telling)).GroupBy(_ => 1).Select(g => new
            {
                Written = g.Count(), Sent = g.Count(m => m.SentAt != null),
                Left = g.Count(m => m.SentAt == null && m.GaveUpAt != null && m.Attempts == 0), Up = g.Count(m => m.SentAt == null && m.GaveUpAt != null && m.Attempts > 0),
            }).SingleOrDefaultAsync(cancellationToken) is { } some)
                (written, sent, left, up) = (written + some.Written, sent + some.Sent, left + some.Left, up + some.Up);
        }
        var first = run.Begins[0];
        return new(written, sent, left, up,
            await db.MailHolds.Where(h => h.Begins == first).Select(h => (DateTimeOffset?)h.At).SingleOrDefaultAsync(cancellationToken),
            await IsBeingWrittenAsync(db, run, cancellationToken));
    }

    /// <summary>How the causes of a slipped month's newest telling end: those of one before it are left out when their turn comes, and are none of these.</summary>
    private static async Task<string> TellingAsync(ShelfDb db, MailRun run, CancellationToken cancellationToken) =>
        run.Kind == MailRunKind.Slip && await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Id == run.AboutId && d.SlippedAt != null, cancellationToken) is { } drop
            ? $":{drop.SlipMark}" : "";

    private static Task<bool> IsBeingWrittenAsync(ShelfDb db, MailRun run, CancellationToken cancellationToken) => run.Kind switch
    {
        MailRunKind.Version => db.Releases.AnyAsync(r => r.Id == run.AboutId && r.State == ReleaseState.Published && r.TellAskedAt != null, cancellationToken),
        MailRunKind.Letter => db.BehindLetters.AnyAsync(l => l.ReleaseId == run.AboutId && l.DoneAt == null, cancellationToken),
        MailRunKind.Withdrawal => db.Releases.AnyAsync(r => r.Id == run.AboutId && r.State == ReleaseState.Withdrawn && r.TellAskedAt != null, cancellationToken),
        MailRunKind.Price => db.PriceChanges.AnyAsync(c => c.Id == run.AboutId && c.ToldAllAt == null && c.CalledOffAt == null, cancellationToken),
        MailRunKind.Credit => db.MonthCredits.AnyAsync(c => c.Id == run.AboutId && c.WrittenAt == null, cancellationToken),
        // Theirs are written in one statement.
        _ => Task.FromResult(false),
    };
}

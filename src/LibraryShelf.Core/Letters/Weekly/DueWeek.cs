using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>The week whose letter is to be written now.</summary>
/// <param name="Week">The last that is over.</param>
/// <param name="Zone">The shop's.</param>
/// <param name="MakerId">Whom it goes to.</param>
internal sealed record DueWeek(IsoWeek Week, DateTimeZone Zone, long MakerId)
{
    public string Cause => CauseOf(Week);

    private static string CauseOf(IsoWeek week) => $"week:{week.Name}";

    /// <summary>The maker who was there when it was due; null: there was none, or she wants none.</summary>
    internal static Task<long?> ReaderAsync(ShelfDb db, DateTimeOffset due, CancellationToken cancellationToken) =>
        db.Users.Where(p => p.IsMaker && p.Email != null && p.CreatedAt < due && !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.Weekly))
            .OrderBy(p => p.Id).Select(p => (long?)p.Id).FirstOrDefaultAsync(cancellationToken);

    /// <summary>The letter about the last week that is over, and when it is due, also if that is still to come.</summary>
    internal static (string Cause, DateTimeOffset Due) Last(DateTimeOffset now, DateTimeZone zone)
    {
        var week = IsoWeek.Of(Instant.FromDateTimeOffset(now).InZone(zone).Date).Before;
        return (CauseOf(week), week.DueAt(zone).ToDateTimeOffset());
    }

    /// <returns>
    /// Null: it is not Monday, 08:00, yet; it was written; nobody was there then to read it, or wants none; its days are still being counted; or the shelf sends
    /// none, being one for practice, held, or there to try a backup.
    /// </returns>
    public static async Task<DueWeek?> FindAsync(ShelfDb db, DateTimeOffset now, ShelfSettings settings, CancellationToken cancellationToken)
    {
        if (settings.Payments.Practice)
            return null;
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var week = IsoWeek.Of(Instant.FromDateTimeOffset(now).InZone(zone).Date).Before;
        var due = week.DueAt(zone).ToDateTimeOffset();
        var cause = CauseOf(week);
        if (now < due || await db.Outbox.AnyAsync(m => m.Cause == cause, cancellationToken)
            || await ShelfHold.IsHeldAsync(db, cancellationToken) || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return null;
        var maker = await ReaderAsync(db, due, cancellationToken);
        var (first, last) = (week.FourBefore.First, week.Days.Last);
        return maker is { } id && !await db.DayRolls.AnyAsync(r => r.Day >= first && r.Day <= last && r.Rolled != r.Changed, cancellationToken) ? new(week, zone, id) : null;
    }
}

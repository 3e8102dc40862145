using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Tells each member whom an announced change of price concerns. A few at a time, each time in a transaction of its own; what a kill leaves undone the next
/// run does, because <see cref="PriceChange.ToldAllAt"/> is written with the last.
/// </summary>
public sealed class TellPriceChanges(ShelfDb db, TimeProvider clock)
{
    public const int AtATime = 50;

    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it between two transactions or within one.</param>
    /// <returns>How many were told.</returns>
    public async Task<int> RunAsync(string? shelfAddress, CancellationToken cancellationToken)
    {
        db.IsMoney = true;
        var told = 0;
        foreach (var id in await db.PriceChanges.Where(c => c.ToldAllAt == null && c.CalledOffAt == null).Select(c => c.Id).ToListAsync(cancellationToken))
        {
            int round;
            do
            {
                db.ChangeTracker.Clear();
                told += round = await TellSomeAsync(id, shelfAddress, cancellationToken);
            }
            while (round > 0);
        }
        return told;
    }

    private async Task<int> TellSomeAsync(long id, string? shelfAddress, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = clock.GetUtcNow();
        if (await db.PriceChanges.SingleOrDefaultAsync(c => c.Id == id && c.ToldAllAt == null && c.CalledOffAt == null, cancellationToken) is not { } change)
            return 0;
        var (from, to) = (await PlanAsync(change.FromPlanId, cancellationToken), await PlanAsync(change.ToPlanId, cancellationToken));
        var desk = await MailDesk.OpenAsync(db, shelfAddress, now, cancellationToken);
        // Who began after the announcement pays by another plan; one that is found later joined by a page opened before, and is left in peace.
        var people = await PriceChangePeople.Of(db, from.Id, now).Where(m => m.StartedAt <= change.AnnouncedAt).Take(AtATime)
            .Join(db.Users, m => m.PersonId, p => p.Id, (m, p) => new { m.Id, m.PersonId, p.Email }).ToListAsync(cancellationToken);
        foreach (var one in people)
            db.PriceChangeLines.Add(new PriceChangeLine { PriceChangeId = id, PaidMembershipId = one.Id, ToldAt = now });
        await desk.WriteAsync(
            [.. people.Where(p => !string.IsNullOrEmpty(p.Email)).Select(p => new WrittenMail(
                CauseOf(id, p.Id), p.Email!, T("Your membership will cost another price"),
                Words(change, from, to, desk, LeaveLink.Make(db, p.Id, shelfAddress, now)) + MailWords.Foot(desk.Shop)) { PersonId = p.PersonId })], cancellationToken);
        if (people.Count == 0)
            change.ToldAllAt = now;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return people.Count;
    }

    /// <summary>Of the mail about one membership; null: how those of all begin.</summary>
    internal static string CauseOf(long priceChangeId, long? membershipId) => string.Create(CultureInfo.InvariantCulture, $"price:{priceChangeId}:{membershipId}");

    private Task<Plan> PlanAsync(long id, CancellationToken cancellationToken) => db.Plans.AsNoTracking().SingleAsync(p => p.Id == id, cancellationToken);

    private static string Words(PriceChange change, Plan from, Plan to, MailDesk desk, string leaveLink) => T($"""
        {Prices(Each(from), Each(to), to.IsTaxIncluded, Day(change.From, desk.Shop))}

        {change.Reason}

        If that is not worth it to you, leave before then: nothing more is taken, and the months you paid for stay yours, with every later version of their boxes. You leave {leaveLink}

        You get this mail because you are a member and pay by this plan.
        """);

    private static string Prices(string today, string then, bool isTaxIncluded, string day) => isTaxIncluded
        ? T($"Your membership costs {today} today. From your first renewal on or after {day} it will cost {then}, tax included. Until then nothing changes.")
        : T($"Your membership costs {today} today. From your first renewal on or after {day} it will cost {then}. Until then nothing changes.");

    private static string Each(Plan plan) =>
        plan.Months == 12 ? T($"{Money.Of(plan.Minor, plan.Currency)} a year") : T($"{Money.Of(plan.Minor, plan.Currency)} a month");

    private static string Day(DateTimeOffset instant, Shop? shop) => DayWords.Day(instant, ReadShop.ZoneOf(shop?.TimeZone ?? ""));
}

using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Practice;
using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>
/// Writes the invented year of people who pay as rows, as the shelf would have kept them, beside the stand-in's ledger that they are read from again when the shop is
/// started; and what they fetched of the drops. Mails of the past are not written.
/// </summary>
internal sealed class SeedPayers(Steps steps, DataPaths paths)
{
    private const int GraceDays = 7;
    private const double TakesSoon = 0.45, TakesLater = 0.3;
    private readonly SplitMix _chance = SplitMix.For("what payers fetch");

    public async Task RunAsync(ShopRecipe shop, DateTimeOffset now, CancellationToken cancellationToken)
    {
        if (shop.Plans.Count == 0)
            return;
        await steps.TakeAsync<ShelfDb, int>(db => WriteAsync(db, now.AddDays(-shop.OpenedDaysAgo), now, cancellationToken));
        await steps.TakeAsync<CountDownloads, int>(v => v.RunAsync(cancellationToken));
        await steps.TakeAsync<RollUpDays, int>(v => v.RunAsync(cancellationToken));
        await steps.TakeAsync<RollUpDrops, int>(v => v.RunAsync(cancellationToken));
        await steps.TakeAsync<KeepIncome, bool>(v => v.RunAsync(cancellationToken));
    }

    private async Task<int> WriteAsync(ShelfDb db, DateTimeOffset opened, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var zone = ReadShop.ZoneOf(await db.Shops.Select(s => s.TimeZone).SingleAsync(cancellationToken));
        var plan = await db.Plans.OrderBy(p => p.Id).FirstAsync(cancellationToken);
        var price = new PracticePrice
        {
            Id = Billing.NewId("price"), Name = "Membership", Currency = plan.Currency.ToLowerInvariant(), Minor = plan.Minor, Months = plan.Months,
            LookupKey = $"shelf-plan-{plan.Id}", TaxBehavior = plan.IsTaxIncluded ? "inclusive" : "unspecified", Created = opened.ToUnixTimeSeconds(),
        };
        plan.ProviderId = price.Id;
        var past = new PayingPast(price, opened, now);
        past.Happen(MonthEnds(opened, now, zone));
        new LedgerFile(Path.Combine(paths.Root, "practice.json")).Keep(past.Ledger);
        var people = past.Ledger.Customers.Select(c => c.Email).Concat(past.Free.Keys).Distinct(StringComparer.Ordinal)
            .ToDictionary(e => e, e => New(e, past.Free.TryGetValue(e, out var free) ? free : At(past.Ledger.Customers.Find(c => c.Email == e)!.Created)), StringComparer.Ordinal);
        db.Users.AddRange(people.Values);
        db.MonthIncomes.AddRange(past.Income.Select(i => new MonthIncome
        {
            Month = i.At.ToInstant().InZone(zone).Date.ToYearMonth(), Currency = plan.Currency, Minor = i.Minor / plan.Months, Memberships = i.Memberships, At = i.At,
        }));
        await db.SaveChangesAsync(cancellationToken);
        var memberships = past.Ledger.Subscriptions.ConvertAll(s => (Told: s, Row: Membership(past.Ledger, s, plan, people, now)));
        db.PaidMemberships.AddRange(memberships.Select(m => m.Row));
        await db.SaveChangesAsync(cancellationToken);
        foreach (var (told, row) in memberships)
            AddPayments(db, past.Ledger, told, row);
        foreach (var payments in db.Payments.Local.GroupBy(p => p.PersonId).ToList())
            db.PaidMonths.AddRange(PaidMonths.Of(payments.Select(p => p.Fact()), zone).Select(m => new PaidMonth { PersonId = payments.Key, Month = m.Month, PaymentId = m.PaymentId, OpensAt = m.OpensAt }));
        // Without a word of the provider's in days that were paid in, its maker is told that its messages don't arrive.
        db.PaymentEvents.AddRange(db.Payments.Local.Where(p => p.PaidAt > now.AddDays(-30)).OrderBy(p => p.PaidAt).Select(p => new PaymentEvent
        {
            ProviderId = Billing.NewId("evt"), Kind = "invoice.paid", SubjectKind = SubjectKind.Invoice, SubjectId = p.Id, ReceivedAt = p.PaidAt.AddSeconds(2), DoneAt = p.PaidAt.AddSeconds(3),
        }));
        await FetchAsync(db, past, people, memberships.ConvertAll(m => m.Row), now, cancellationToken);
        return await db.SaveChangesAsync(cancellationToken);
    }

    private static Person New(string email, DateTimeOffset known) => new()
    {
        Email = email, UserName = email, NormalizedEmail = email.ToUpperInvariant(), NormalizedUserName = email.ToUpperInvariant(),
        SecurityStamp = Billing.NewId("stamp"), LockoutEnabled = true, EmailConfirmed = true, CreatedAt = known,
    };

    private static IEnumerable<DateTimeOffset> MonthEnds(DateTimeOffset opened, DateTimeOffset now, DateTimeZone zone)
    {
        for (var month = opened.ToInstant().InZone(zone).Date.ToYearMonth().PlusMonths(1); ; month = month.PlusMonths(1))
        {
            var end = zone.AtStartOfDay(month.OnDayOfMonth(1)).ToDateTimeOffset().AddSeconds(-1).ToUniversalTime();
            if (end >= now) yield break;
            yield return end;
        }
    }

    private static PaidMembership Membership(Ledger ledger, PracticeSubscription told, Plan plan, Dictionary<string, Person> people, DateTimeOffset now)
    {
        var invoices = ledger.Invoices.Where(i => i.SubscriptionId == told.Id).ToList();
        var row = new PaidMembership
        {
            PersonId = people[ledger.Customers.Single(c => c.Id == told.CustomerId).Email].Id, PlanId = plan.Id, ProviderId = told.Id, CustomerId = told.CustomerId,
            StartedAt = At(told.Created), PaidThrough = At(invoices.Where(i => i.Status == PracticeStatus.Paid).Max(i => i.PeriodEnd)),
            LeavesAt = told.CancelsAtPeriodEnd ? At(told.PeriodEnd) : null, EndedAt = told.EndedAt is { } ended ? At(ended) : null,
            IsRefused = invoices.Exists(i => i.Status == PracticeStatus.Open && i.Tries > 0), AskedAt = now,
        };
        row.ActiveUntil = MembershipRule.ActiveUntil(row, GraceDays);
        return row;
    }

    private static void AddPayments(ShelfDb db, Ledger ledger, PracticeSubscription told, PaidMembership row)
    {
        foreach (var invoice in ledger.Invoices.Where(i => i.SubscriptionId == told.Id))
        {
            if (invoice.Tries > 1 || invoice.Status == PracticeStatus.Open)
                db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = row.Id, Since = At(invoice.Created), RecoveredAt = invoice.PaidAt is { } later ? At(later) : null });
            if (invoice.PaidAt is { } paid)
                db.Payments.Add(new Payment
                {
                    Id = invoice.Id, PaidMembershipId = row.Id, PersonId = row.PersonId, Minor = invoice.Due, PriceMinor = invoice.Total, Currency = invoice.Currency.ToUpperInvariant(),
                    Months = 1, PeriodStart = At(invoice.PeriodStart), PeriodEnd = At(invoice.PeriodEnd), PaidAt = At(paid),
                });
        }
    }

    /// <summary>Of each drop, by those whose it was; and first free downloads.</summary>
    private async Task FetchAsync(
        ShelfDb db, PayingPast past, Dictionary<string, Person> people, List<PaidMembership> memberships, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var drops = await (
            from d in db.Drops
            where d.State == DropState.Sent
            join r in db.DropReleases on d.Id equals r.DropId
            join a in db.Archives on r.ReleaseId equals a.ReleaseId
            where a.Kind == ArchiveKind.Full
            join v in db.Releases on r.ReleaseId equals v.Id
            orderby d.Id
            select new { d.SentAt, v.Id, v.LibraryId, ArchiveId = a.Id, a.Length }).ToListAsync(cancellationToken);
        foreach (var drop in drops)
        {
            foreach (var member in memberships.Where(m => m.StartedAt <= drop.SentAt && m.ActiveUntil > drop.SentAt))
            {
                var days = _chance.Unit() is var luck && luck < TakesSoon ? 7 * _chance.Unit() * _chance.Unit() : luck < TakesSoon + TakesLater ? 7 + (30 * _chance.Unit()) : 1_000;
                if (drop.SentAt!.Value.AddDays(days) < now.AddHours(-2))
                    Add(db, drop.Id, drop.LibraryId, drop.ArchiveId, drop.Length, member.PersonId, MayDownloadWhy.PaidMonth, drop.SentAt.Value.AddDays(days));
            }
        }
        var free = await (
            from r in db.Releases
            where r.State == ReleaseState.Published && r.Library.Audiences.Any() && r.Library.Audiences.All(d => d.Audience == Audience.Free)
            join a in db.Archives on r.Id equals a.ReleaseId
            where a.Kind == ArchiveKind.Full
            orderby r.PublishedAt, r.Id
            select new { r.Id, r.LibraryId, r.PublishedAt, ArchiveId = a.Id, a.Length }).ToListAsync(cancellationToken);
        foreach (var (email, at) in past.Free.OrderBy(f => f.Value))
            if (free.FindLast(r => r.PublishedAt < at) is { } newest)
                Add(db, newest.Id, newest.LibraryId, newest.ArchiveId, newest.Length, people[email].Id, MayDownloadWhy.Free, at);
    }

    private void Add(ShelfDb db, long releaseId, long libraryId, long archiveId, long length, long personId, MayDownloadWhy why, DateTimeOffset at)
    {
        var bytes = new byte[16];
        BitConverter.TryWriteBytes(bytes, _chance.Next());
        BitConverter.TryWriteBytes(bytes.AsSpan(8), _chance.Next());
        var id = System.Buffers.Text.Base64Url.EncodeToString(bytes);
        db.Downloads.Add(new Download
        {
            Id = id, ArchiveId = archiveId, ReleaseId = releaseId, LibraryId = libraryId, PersonId = personId, Why = why, MadeAt = at, StartBy = at.AddMinutes(30), FinishBy = at.AddHours(24), StartedAt = at.AddSeconds(2),
        });
        db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = length, BeginsAnswer = true, At = at.AddMinutes(2) });
    }

    private static DateTimeOffset At(long seconds) => DateTimeOffset.FromUnixTimeSeconds(seconds);
}

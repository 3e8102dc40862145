using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Membership;

/// <summary>One payment, as far as the rule of months needs to know it. All of it is read from the payment provider, nothing from the order of its messages.</summary>
/// <param name="Id">The provider's name for the invoice; orders payments of one instant.</param>
/// <param name="MembershipId">Where its plan is changed, the payments before and after don't push each other on: the change is settled in money.</param>
/// <param name="Months">1 or 12.</param>
/// <param name="PeriodStart">Begin of the time it pays for.</param>
/// <param name="TakenBackAt">When it was paid back whole, or a dispute about it was lost; null: it stands.</param>
public sealed record PaymentFact(
    string Id, long MembershipId, int Months, DateTimeOffset PeriodStart, DateTimeOffset PaidAt, DateTimeOffset? TakenBackAt);

/// <summary>A month somebody paid for, with the payment, open from <paramref name="OpensAt"/> on.</summary>
public sealed record MonthPaid(YearMonth Month, string PaymentId, DateTimeOffset OpensAt);

/// <summary>
/// Which calendar months a person's payments pay for: pure, so that each line of docs/membership.md is a test. The n-th payment pays for the
/// month n−1 after the month of the billing anchor. A month never counts twice: a payment for one that another membership of the same person
/// has paid already pays for the next that is free. What is taken back frees its months from that moment on.
/// </summary>
public static class PaidMonths
{
    /// <param name="payments">All of one person's, in any order.</param>
    /// <param name="zone">The shop's, in which its months begin.</param>
    /// <returns>The months that stand, by month.</returns>
    public static IReadOnlyList<MonthPaid> Of(IEnumerable<PaymentFact> payments, DateTimeZone zone)
    {
        var placed = payments.GroupBy(p => p.MembershipId).SelectMany(g => Place(g, zone)).ToList();
        var months = new SortedDictionary<YearMonth, Placed>();
        foreach (var (_, isBack, payment) in Moments(placed))
        {
            if (isBack) Free(months, payment);
            else Take(months, payment);
        }
        return [.. months.Select(m => new MonthPaid(m.Key, m.Value.Payment.Id, OpensAt(m.Key, m.Value.Payment, zone)))];
    }

    /// <summary>
    /// The months of a membership given by hand: that of its first day, and one more for each whole month it goes on. None lies after
    /// <paramref name="now"/>.
    /// </summary>
    public static IEnumerable<YearMonth> OfGift(DateTimeOffset from, DateTimeOffset? until, DateTimeOffset now, DateTimeZone zone)
    {
        var first = DateIn(zone, from);
        var end = until < now ? until.Value : now;
        for (var n = 0; n == 0 ? from < end : StartOf(first.PlusMonths(n), from, zone) < end; n++)
            yield return first.ToYearMonth().PlusMonths(n);
    }

    /// <param name="First">The month it is for, if nothing stands there.</param>
    /// <param name="Anchor">The first payment of its run: see <see cref="Place"/>.</param>
    private sealed record Placed(PaymentFact Payment, YearMonth First, PaymentFact Anchor);

    /// <summary>What is taken back at an instant is free for what is paid at the same instant.</summary>
    private static IEnumerable<(DateTimeOffset At, bool IsBack, Placed Payment)> Moments(List<Placed> placed) =>
        placed.Select(p => (At: p.Payment.PaidAt, IsBack: false, p))
            .Concat(placed.Where(p => p.Payment.TakenBackAt is not null).Select(p => (At: BackAt(p.Payment), IsBack: true, p)))
            .OrderBy(m => m.At).ThenByDescending(m => m.IsBack && m.At > m.p.Payment.PaidAt)
            .ThenBy(m => m.p.Payment.PeriodStart).ThenBy(m => m.p.Payment.Id, StringComparer.Ordinal).ThenBy(m => m.IsBack);

    private static DateTimeOffset BackAt(PaymentFact p) => p.TakenBackAt > p.PaidAt ? p.TakenBackAt.Value : p.PaidAt;

    private static void Free(SortedDictionary<YearMonth, Placed> months, Placed payment)
    {
        foreach (var month in months.Where(m => m.Value == payment).Select(m => m.Key).ToList())
            months.Remove(month);
    }

    private static void Take(SortedDictionary<YearMonth, Placed> months, Placed payment)
    {
        var month = payment.First;
        for (var left = payment.Payment.Months; left > 0; month = month.PlusMonths(1))
        {
            var isTaken = months.TryGetValue(month, out var holder);
            if (isTaken && !IsSettledInMoney(holder!, payment))
                continue;
            left--;
            if (!isTaken)
                months[month] = payment;
        }
    }

    /// <summary>One membership before and after a change of its plan: what was paid for twice was credited.</summary>
    private static bool IsSettledInMoney(Placed holder, Placed payment) =>
        holder.Payment.MembershipId == payment.Payment.MembershipId && holder.Anchor != payment.Anchor;

    private static DateTimeOffset OpensAt(YearMonth month, PaymentFact payment, DateTimeZone zone)
    {
        var firstDay = zone.AtStartOfDay(month.OnDayOfMonth(1)).ToDateTimeOffset();
        return firstDay > payment.PaidAt ? firstDay : payment.PaidAt;
    }

    /// <summary>
    /// Each payment with the month it is for. A run of payments has one anchor, its first period's start: period n begins n times its length
    /// later, clamped to the month's end and back again (Stripe documentation, "Set the billing cycle date"). What does not fall on that grid, or
    /// has another length, begins a new run: a plan was changed. Days are counted in UTC, as the provider does; the anchor's month is
    /// the shop's.
    /// </summary>
    private static IEnumerable<Placed> Place(IEnumerable<PaymentFact> payments, DateTimeZone zone)
    {
        PaymentFact? anchor = null;
        foreach (var payment in payments.OrderBy(p => p.PeriodStart).ThenBy(p => p.Id, StringComparer.Ordinal))
        {
            if (anchor is null || anchor.Months != payment.Months || !IsOnGrid(anchor, payment))
                anchor = payment;
            yield return new Placed(payment, DateIn(zone, anchor.PeriodStart).ToYearMonth().PlusMonths(MonthsBetween(anchor, payment)), anchor);
        }
    }

    private static bool IsOnGrid(PaymentFact anchor, PaymentFact payment)
    {
        var months = MonthsBetween(anchor, payment);
        return months % anchor.Months == 0 && DateIn(DateTimeZone.Utc, anchor.PeriodStart).PlusMonths(months) == DateIn(DateTimeZone.Utc, payment.PeriodStart);
    }

    private static int MonthsBetween(PaymentFact anchor, PaymentFact payment)
    {
        var (from, to) = (DateIn(DateTimeZone.Utc, anchor.PeriodStart), DateIn(DateTimeZone.Utc, payment.PeriodStart));
        return ((to.Year - from.Year) * 12) + to.Month - from.Month;
    }

    private static LocalDate DateIn(DateTimeZone zone, DateTimeOffset instant) => instant.ToInstant().InZone(zone).Date;

    private static DateTimeOffset StartOf(LocalDate date, DateTimeOffset from, DateTimeZone zone) =>
        zone.AtLeniently(date + from.ToInstant().InZone(zone).TimeOfDay).ToDateTimeOffset();
}

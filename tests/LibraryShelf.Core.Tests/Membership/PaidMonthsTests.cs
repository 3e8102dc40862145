using LibraryShelf.Core.Membership;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Tests.Membership;

/// <summary>The lines of docs/membership.md about months, each with its example.</summary>
public sealed class PaidMonthsTests
{
    private static readonly DateTimeZone Lisbon = DateTimeZoneProviders.Tzdb["Europe/Lisbon"];
    private static readonly DateTimeZone Oslo = DateTimeZoneProviders.Tzdb["Europe/Oslo"];

    [Fact]
    public void The_nth_payment_pays_for_the_month_n_minus_one_after_the_month_of_joining() =>
        Assert.Equal("2026-11 2026-12 2027-01", Months(Lisbon, Pay("2026-11-25"), Pay("2026-12-25"), Pay("2027-01-25")));

    [Theory]
    // Billing dates by the payment provider's rule "anchor on 31: last day of shorter months, returns to 31" (Stripe documentation, "Set the
    // billing cycle date"; the rows "billing anchor (clamp, re-anchor)" of the check values).
    [InlineData("2026-01-31 2026-02-28 2026-03-31 2026-04-30 2026-05-31 2026-06-30", "2026-01 2026-02 2026-03 2026-04 2026-05 2026-06")]
    [InlineData("2028-01-31 2028-02-29 2028-03-31", "2028-01 2028-02 2028-03")]
    public void Joined_on_the_31st_no_month_is_left_out_and_none_comes_twice(string billed, string months) =>
        Assert.Equal(months, Months(Lisbon, [.. billed.Split(' ').Select(day => Pay(day))]));

    [Fact]
    public void Summer_time_moves_no_payment_into_the_next_month()
    {
        // Anchored 31 October 23:30 UTC, in Lisbon still October; its July payment falls on 1 August 00:30 by Lisbon's summer clock.
        var payments = Enumerable.Range(0, 12).Select(n => Pay(LocalDatePattern.Iso.Format(new LocalDate(2026, 10, 31).PlusMonths(n)), "23:30")).ToArray();
        Assert.Equal(
            "2026-10 2026-11 2026-12 2027-01 2027-02 2027-03 2027-04 2027-05 2027-06 2027-07 2027-08 2027-09", Months(Lisbon, payments));
    }

    [Fact]
    public void The_month_of_joining_is_the_shops() =>
        Assert.Equal("2026-11 2026-12", Months(Oslo, Pay("2026-10-31", "23:30"), Pay("2026-11-30", "23:30")));

    [Fact]
    public void Who_left_and_joined_again_in_a_month_paid_already_pays_for_the_next() =>
        Assert.Equal("2026-11 2026-12 2027-01", Months(Lisbon, Pay("2026-11-03", of: 1), Pay("2026-11-28", of: 2), Pay("2026-12-28", of: 2)));

    [Fact]
    public void A_year_is_twelve_months_each_open_from_its_first_day()
    {
        var months = PaidMonths.Of([Pay("2026-11-25", months: 12)], Lisbon);
        Assert.Equal("2026-11 2026-12 2027-01 2027-02 2027-03 2027-04 2027-05 2027-06 2027-07 2027-08 2027-09 2027-10", Text(months));
        Assert.Equal(At("2026-11-25"), months[0].OpensAt);
        Assert.Equal(At("2026-12-01", "00:00"), months[1].OpensAt);
        // Summer time: the first of July begins at 23:00 UTC of the day before.
        Assert.Equal(At("2027-06-30", "23:00"), months[8].OpensAt);
    }

    [Fact]
    public void A_second_year_goes_on_after_the_first() =>
        Assert.Equal(24, PaidMonths.Of([Pay("2024-02-29", months: 12), Pay("2025-02-28", months: 12)], Lisbon).Count);

    [Fact]
    public void A_payment_paid_late_pays_for_its_own_month() =>
        Assert.Equal("2026-11 2026-12 2027-01", Months(Lisbon, Pay("2026-11-25"), Pay("2026-12-25", paid: "2027-01-03"), Pay("2027-01-25")));

    [Fact]
    public void A_month_that_was_not_paid_is_left_out_and_the_ones_after_keep_their_own() =>
        // December's renewal failed and was given up, or the membership was paused.
        Assert.Equal("2026-11 2027-01", Months(Lisbon, Pay("2026-11-25"), Pay("2027-01-25")));

    [Fact]
    public void What_is_paid_back_is_taken_back() =>
        Assert.Equal("2026-12", Months(Lisbon, Pay("2026-11-25", back: "2026-12-01"), Pay("2026-12-25")));

    [Fact]
    public void A_month_paid_back_can_be_paid_for_again() =>
        Assert.Equal("2026-11", Months(Lisbon, Pay("2026-11-03", of: 1, back: "2026-11-10"), Pay("2026-11-20", of: 2)));

    [Fact]
    public void Paid_back_later_it_does_not_move_what_was_pushed_on() =>
        Assert.Equal("2026-12", Months(Lisbon, Pay("2026-11-03", of: 1, back: "2026-12-24"), Pay("2026-11-20", of: 2)));

    [Fact]
    public void From_months_to_a_year_nothing_is_doubled_and_nothing_pushed_on() =>
        // The change is settled in money by the provider: November is paid once, the year runs from November.
        Assert.Equal(12, PaidMonths.Of([Pay("2026-11-05"), Pay("2026-11-20", months: 12)], Lisbon).Count);

    [Fact]
    public void After_a_change_the_grid_begins_anew() =>
        Assert.Equal("2026-01 2026-02 2026-03 2026-04", Months(Lisbon, Pay("2026-01-31"), Pay("2026-02-28"), Pay("2026-03-10"), Pay("2026-04-10")));

    [Theory]
    [InlineData("2026-11-10", "2027-01-10", "2026-11 2026-12")]
    [InlineData("2026-11-10", "2027-01-11", "2026-11 2026-12 2027-01")]
    [InlineData("2026-01-31", "2026-03-01", "2026-01 2026-02")]
    [InlineData("2026-11-10", "2026-11-10", "")]
    public void A_gifts_months_count_as_paid(string from, string until, string months) =>
        Assert.Equal(months, string.Join(' ', PaidMonths.OfGift(At(from), At(until), At("2030-01-01"), Lisbon).Select(YearMonthPattern.Iso.Format)));

    [Fact]
    public void A_gift_without_an_end_has_the_months_up_to_now() =>
        Assert.Equal(3, PaidMonths.OfGift(At("2026-11-10"), null, At("2027-01-20"), Lisbon).Count());

    [Fact]
    public void The_order_in_which_payments_are_read_changes_nothing()
    {
        var random = new Random(20261125);
        for (var round = 0; round < 10_000; round++)
        {
            var payments = History(random);
            var expected = Text(PaidMonths.Of(payments, Lisbon));
            random.Shuffle(payments);
            var months = PaidMonths.Of(payments, Lisbon);
            Assert.Equal(expected, Text(months));
            // As many as were paid and not taken back, at most; and no month opens before it is paid.
            Assert.InRange(months.Count, 0, payments.Where(p => p.TakenBackAt is null).Sum(p => p.Months));
            Assert.All(months, m => Assert.True(m.OpensAt >= payments.Single(p => p.Id == m.PaymentId).PaidAt));
        }
    }

    private static PaymentFact[] History(Random random) =>
    [
        .. from membership in Enumerable.Range(1, random.Next(1, 4))
           let start = new LocalDate(2025, 1, 1).PlusDays(random.Next(400))
           let months = random.Next(5) == 0 ? 12 : 1
           from n in Enumerable.Range(0, random.Next(1, 8))
           where random.Next(8) > 0
           let begun = LocalDatePattern.Iso.Format(start.PlusMonths(n * months))
           select Pay(begun, of: membership, months: months, back: random.Next(5) == 0 ? LocalDatePattern.Iso.Format(start.PlusMonths(n * months).PlusDays(random.Next(60))) : null),
    ];

    private static string Months(DateTimeZone zone, params PaymentFact[] payments) => Text(PaidMonths.Of(payments, zone));

    private static string Text(IEnumerable<MonthPaid> months) => string.Join(' ', months.Select(m => YearMonthPattern.Iso.Format(m.Month)));

    private static PaymentFact Pay(string begins, string time = "12:00", long of = 1, int months = 1, string? paid = null, string? back = null) => new(
        $"in_{of}_{begins}", of, months, At(begins, time), At(paid ?? begins, time), back is null ? null : At(back));

    /// <summary>UTC.</summary>
    private static DateTimeOffset At(string day, string time = "12:00") =>
        DateTimeOffset.Parse($"{day}T{time}:00Z", System.Globalization.CultureInfo.InvariantCulture);
}

using LibraryShelf.Adapters.Payments;
using LibraryShelf.Core.Payments;
using Stripe;

namespace LibraryShelf.Adapters.Tests.Payments;

/// <summary>
/// Stripe's objects as its API documents them (Subscription, Invoice, Invoice Line Item, Refund, Dispute), read by Stripe's own library, in our words.
/// </summary>
public sealed class StripeReadingTests
{
    private static readonly DateTimeOffset Joined = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public void A_membership_with_one_payment()
    {
        var read = Read(Subscription(), [Invoice()]);
        Assert.Equal(
            ("sub_1", "cus_1", "wren@post.example", 42L, "price_1"), (read.Id, read.CustomerId, read.Email, read.JoiningId!.Value, read.PriceId));
        Assert.Equal((Joined, null, null, false, null), (read.StartedAt, read.LeavesAt, read.EndedAt, read.IsPaused, read.UnpaidSince));
        var paid = Assert.Single(read.Payments);
        Assert.Equal(
            new ProviderPayment("in_1", 900, "EUR", 1, Joined, Joined.AddMonths(1), Joined.AddSeconds(9), 0, null, null, 900), paid);
        Assert.Null(paid.TakenBackAt);
    }

    [Theory]
    [InlineData("""{"shelf_joining":"x"}""")]
    [InlineData("""{"shelf_joining":"-4"}""")]
    [InlineData("{}")]
    [InlineData("null")]
    public void Made_elsewhere_it_has_no_joining(string metadata) => Assert.Null(Read(Subscription(metadata: metadata), []).JoiningId);

    [Theory]
    [InlineData("""{"shelf_joining":"42"}""", "null", true)]
    [InlineData("{}", "\"shelf-plan-3\"", true)]
    [InlineData("{}", "\"workshop-tickets\"", false)]
    [InlineData("{}", "null", false)]
    public void What_names_no_joining_and_no_plan_is_something_else_the_maker_sells(string metadata, string lookup, bool isOurs) =>
        Assert.Equal(isOurs, Read(Subscription(metadata: metadata, lookup: lookup), []).IsOurs);

    [Fact]
    public void What_credit_paid_is_in_the_price_and_not_in_what_was_paid()
    {
        var paid = Assert.Single(Read(Subscription(), [Invoice(paid: 400, total: 900)]).Payments);
        Assert.Equal((400, 900), (paid.Minor, paid.PriceMinor));
    }

    [Fact]
    public void A_year_is_twelve_months()
    {
        var paid = Assert.Single(Read(Subscription(), [Invoice(lines: Line(end: Joined.AddYears(1)))]).Payments);
        Assert.Equal((12, Joined.AddYears(1)), (paid.Months, paid.PeriodEnd));
    }

    [Theory]
    [InlineData(28)]
    [InlineData(31)]
    public void A_month_is_one_however_long(int days) =>
        Assert.Equal(1, Assert.Single(Read(Subscription(), [Invoice(lines: Line(end: Joined.AddDays(days)))]).Payments).Months);

    [Fact]
    public void A_trial_pays_for_nothing() => Assert.Empty(Read(Subscription(), [Invoice(paid: 0, lines: Line(amount: 0))]).Payments);

    [Fact]
    public void A_settlement_between_two_plans_pays_for_no_time_of_its_own() =>
        Assert.Empty(Read(Subscription(), [Invoice(lines: $"{Line(amount: -450, proration: true)},{Line(amount: 950, proration: true)}")]).Payments);

    [Fact]
    public void Beside_a_settlement_the_new_time_counts()
    {
        var year = Line(amount: 9000, end: Joined.AddYears(1));
        var paid = Assert.Single(Read(Subscription(), [Invoice(paid: 8550, lines: $"{Line(amount: -450, proration: true, end: Joined.AddYears(3))},{year}")]).Payments);
        Assert.Equal((8550, 12, Joined.AddYears(1)), (paid.Minor, paid.Months, paid.PeriodEnd));
    }

    /// <summary>An invoice settled by the customer's balance is paid, with nothing taken.</summary>
    [Fact]
    public void Paid_by_credit_it_is_paid_and_cannot_be_paid_back()
    {
        var paid = Assert.Single(Read(Subscription(), [Invoice(paid: 0)]).Payments);
        Assert.Equal((0, 1), (paid.Minor, paid.Months));
        Assert.Null(paid.TakenBackAt);
    }

    [Theory]
    [InlineData("draft")]
    [InlineData("open")]
    [InlineData("void")]
    [InlineData("uncollectible")]
    public void What_is_not_paid_pays_for_nothing(string status) => Assert.Empty(Read(Subscription(), [Invoice(status: status)]).Payments);

    [Theory]
    [InlineData("open", 1, true)]
    [InlineData("open", 0, false)] // not tried yet
    [InlineData("draft", 1, false)]
    [InlineData("uncollectible", 4, false)]
    [InlineData("paid", 2, false)]
    public void A_renewal_tried_in_vain_is_unpaid(string status, int attempts, bool isUnpaid) =>
        Assert.Equal(isUnpaid ? Joined : null, Read(Subscription(), [Invoice(status: status, attempts: attempts)]).UnpaidSince);

    [Fact]
    public void A_part_paid_back_takes_nothing_away()
    {
        var paid = Back(Refund(400));
        Assert.Equal((400, Joined.AddDays(2)), (paid.RefundedMinor, paid.RefundedAt));
        Assert.Null(paid.TakenBackAt);
    }

    [Fact]
    public void Paid_back_whole_it_is_taken_back() => Assert.Equal(Joined.AddDays(2), Back(Refund(900)).TakenBackAt);

    [Fact]
    public void Paid_back_whole_in_parts_it_is_taken_back_with_the_last() =>
        Assert.Equal(Joined.AddDays(5), Back(Refund(500, days: 5), Refund(400)).TakenBackAt);

    [Theory]
    [InlineData("succeeded", true)]
    [InlineData("pending", true)]
    [InlineData("failed", false)]
    [InlineData("canceled", false)]
    [InlineData("requires_action", false)]
    public void Only_a_refund_on_its_way_counts(string status, bool isBack) => Assert.Equal(isBack, Back(Refund(900, status: status)).TakenBackAt is not null);

    [Theory]
    [InlineData("lost", true)]
    [InlineData("won", false)]
    [InlineData("needs_response", false)]
    [InlineData("under_review", false)]
    [InlineData("warning_closed", false)]
    public void Only_a_lost_dispute_takes_back(string status, bool isBack)
    {
        var paid = Assert.Single(Read(Subscription(), [Invoice()], Returned([], [Of<Dispute>(
            $$"""{"id":"dp_1","object":"dispute","status":"{{status}}","created":{{Unix(Joined.AddDays(4))}} }""")])).Payments);
        Assert.Equal(isBack ? Joined.AddDays(4) : null, paid.TakenBackAt);
    }

    [Fact]
    public void Money_of_another_payment_takes_nothing_back() =>
        Assert.Null(Assert.Single(Read(Subscription(), [Invoice()], Returned([Refund(900)], [], intent: "pi_2")).Payments).TakenBackAt);

    [Fact]
    public void Leaving_at_the_end_of_what_is_paid() =>
        Assert.Equal(Joined.AddMonths(1), Read(Subscription(""" "cancel_at_period_end":true, """), []).LeavesAt);

    [Fact]
    public void Leaving_on_a_day() =>
        Assert.Equal(Joined.AddDays(9), Read(Subscription($""" "cancel_at_period_end":false,"cancel_at":{Unix(Joined.AddDays(9))}, """), []).LeavesAt);

    [Fact]
    public void Ended() => Assert.Equal(Joined.AddDays(3), Read(Subscription($""" "ended_at":{Unix(Joined.AddDays(3))}, """, status: "canceled"), []).EndedAt);

    [Fact]
    public void Never_paid_in_time_it_has_ended_where_it_began()
    {
        var read = Read(Subscription(status: "incomplete_expired"), [Invoice(status: "void")]);
        Assert.Equal(Joined, read.EndedAt);
        Assert.Empty(read.Payments);
    }

    [Theory]
    [InlineData(""" "pause_collection":{"behavior":"void"}, """, "active")]
    [InlineData("", "paused")]
    public void Paused(string more, string status) => Assert.True(Read(Subscription(more, status), []).IsPaused);

    [Theory]
    [InlineData("complete", "paid", true)]
    [InlineData("complete", "no_payment_required", true)]
    [InlineData("complete", "unpaid", false)] // a debit whose money is on its way
    [InlineData("open", "paid", false)]
    [InlineData("open", "unpaid", false)]
    [InlineData("expired", "unpaid", false)]
    public void A_checkout_is_paid_once_it_is_complete_and_paid(string status, string payment, bool isPaid)
    {
        var read = StripeReading.Checkout(Of<Stripe.Checkout.Session>(
            $$"""{"id":"cs_1","object":"checkout.session","status":"{{status}}","payment_status":"{{payment}}","url":"https://pay.example/cs_1","subscription":"sub_1"}"""));
        Assert.Equal((isPaid, status == "open"), (read.IsPaid, read.Page is not null));
    }

    private static ProviderMembership Read(Subscription subscription, Invoice[] invoices, params Returned[] returned) =>
        StripeReading.Membership(subscription, invoices, returned);

    private static ProviderPayment Back(params Refund[] refunds) => Assert.Single(Read(Subscription(), [Invoice()], Returned(refunds, [])).Payments);

    private static Returned Returned(Refund[] refunds, Dispute[] disputes, string intent = "pi_1") =>
        new(Of<Charge>($$"""{"id":"ch_1","object":"charge","payment_intent":"{{intent}}"}"""), refunds, disputes);

    private static Refund Refund(long minor, int days = 2, string status = "succeeded") => Of<Refund>(
        $$"""{"id":"re_{{days}}","object":"refund","amount":{{minor}},"status":"{{status}}","created":{{Unix(Joined.AddDays(days))}} }""");

    private static Subscription Subscription(string more = "", string status = "active", string metadata = """{"shelf_joining":"42"}""", string lookup = "null") => Of<Subscription>(
        $$$"""
        {"id":"sub_1","object":"subscription","status":"{{{status}}}","created":{{{Unix(Joined)}}},"start_date":{{{Unix(Joined)}}},{{{more}}}
         "customer":{"id":"cus_1","object":"customer","email":"wren@post.example"},"metadata":{{{metadata}}},
         "items":{"object":"list","data":[{"id":"si_1","object":"subscription_item","current_period_end":{{{Unix(Joined.AddMonths(1))}}},
           "price":{"id":"price_1","object":"price","lookup_key":{{{lookup}}} } }] } }
        """);

    private static Invoice Invoice(string status = "paid", long paid = 900, string? lines = null, int attempts = 1, long? total = null) => Of<Invoice>(
        $$$"""
        {"id":"in_1","object":"invoice","status":"{{{status}}}","currency":"eur","amount_paid":{{{paid}}},"total":{{{total ?? paid}}},"attempt_count":{{{attempts}}},"created":{{{Unix(Joined)}}},
         "status_transitions":{"paid_at":{{{(status == "paid" ? Unix(Joined.AddSeconds(9)) : "null")}}} },
         "lines":{"object":"list","data":[{{{lines ?? Line()}}}]},
         "payments":{"object":"list","data":[{"id":"inpay_1","object":"invoice_payment","status":"paid","payment":{"type":"payment_intent","payment_intent":"pi_1"}}] } }
        """);

    private static string Line(long amount = 900, bool proration = false, DateTimeOffset? end = null) =>
        $$$"""
        {"id":"il_1","object":"line_item","amount":{{{amount}}},"period":{"start":{{{Unix(Joined)}}},"end":{{{Unix(end ?? Joined.AddMonths(1))}}} },
         "parent":{"type":"subscription_item_details","subscription_item_details":{"proration":{{{(proration ? "true" : "false")}}},"subscription":"sub_1"} } }
        """;

    private static string Unix(DateTimeOffset instant) => instant.ToUnixTimeSeconds().ToString(System.Globalization.CultureInfo.InvariantCulture);

    private static T Of<T>(string json) where T : StripeEntity<T> => StripeEntity<T>.FromJson(json);
}

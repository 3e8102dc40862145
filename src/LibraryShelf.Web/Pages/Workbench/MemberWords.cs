using System.Globalization;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>How somebody stands and what they may have, in the maker's words.</summary>
internal static class MemberWords
{
    /// <summary>For the links above the list: "12 paying".</summary>
    public static string Of(MemberState state) => state switch
    {
        MemberState.Paying => "paying",
        MemberState.Grace => "payment failed",
        MemberState.Leaving => "leaving",
        MemberState.Paused => "paused",
        MemberState.ByHand => "by hand",
        MemberState.Left => "left",
        _ => "no members",
    };

    /// <summary>"pays £6.00 each month", "by hand, no end", "leaving, until 3 Dec 2026"; both where both hold.</summary>
    public static string State(MemberLine line, DateTimeZone zone, DateTimeOffset now)
    {
        var byHand = line.ByHand?.IsActiveAt(now) == true ? $"by hand, {(line.ByHand.Until is { } until ? "until " + LastDay(until, zone) : "no end")}" : null;
        var words = line.State switch
        {
            MemberState.Paying => $"pays{PlanWords(line.Plan)}",
            MemberState.Grace => $"payment failed, open until {LastDay(line.Paid!.ActiveUntil, zone)}",
            MemberState.Leaving => $"leaving, until {LastDay(line.Paid!.ActiveUntil, zone)}",
            MemberState.Paused => $"paused, open until {LastDay(line.Paid!.ActiveUntil, zone)}",
            MemberState.ByHand => byHand!,
            MemberState.Left => $"left{(line.Stretch?.Until is { } left && left <= now ? " on " + Dates.ShortDay(left, zone) : "")}",
            _ => line.Stretch is { } coming ? $"by hand, from {Dates.ShortDay(coming.From, zone)}" : "no member",
        };
        return line.State < MemberState.ByHand && byHand is not null ? $"{words}; besides {byHand}" : words;
    }

    /// <summary>The last day that counts: the end itself is the first instant after it.</summary>
    public static string LastDay(DateTimeOffset until, DateTimeZone zone) => Dates.ShortDay(until.AddMilliseconds(-1), zone);

    /// <summary>" £6.00 each month"; "" when the plan is not known here.</summary>
    public static string PlanWords(Plan? plan) => plan is null ? "" : $" {Money.Of(plan.Minor, plan.Currency)} each {(plan.Months == 12 ? "year" : "month")}";

    public static string Standing(MemberPays pays, DateTimeZone zone) => pays.Standing switch
    {
        MembershipStanding.Active => $"Goes on by itself: the next payment is due on {Dates.Day(pays.Membership.PaidThrough!.Value, zone)}.",
        MembershipStanding.Grace => $"The last payment did not go through, and is tried again by itself. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}.",
        MembershipStanding.Leaving => $"Nothing more will be taken. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}.",
        MembershipStanding.Paused => $"Paused: nothing is taken and no month is added. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}.",
        _ when pays.Membership.EndedAt is { } ended => $"Ended on {Dates.Day(ended, zone)}.",
        _ => "Nothing that is paid holds now, but the payment provider has not ended it: it may take a payment yet.",
    };

    /// <summary>"paid", "£2.00 of it paid back", "paid back on 3 Dec 2026: its month is taken back".</summary>
    public static string Payment(Payment payment, DateTimeZone zone) => payment switch
    {
        { IsDisputeLost: true, TakenBackAt: { } lost } => $"dispute lost on {Dates.ShortDay(lost, zone)}: its {Months(payment)} taken back",
        { TakenBackAt: { } back } => $"paid back on {Dates.ShortDay(back, zone)}: its {Months(payment)} taken back",
        { RefundedMinor: > 0 } => $"{Money.Of(payment.RefundedMinor, payment.Currency)} of it paid back; its {(payment.Months == 12 ? "months stay" : "month stays")}",
        { Minor: 0 } => "settled without money",
        _ => "paid",
    };

    public static long LeftOf(Payment payment) => payment.IsDisputeLost ? 0 : payment.Minor - payment.RefundedMinor;

    private static string Months(Payment payment) => payment.Months == 12 ? "months are" : "month is";

    /// <summary>"2026-03".</summary>
    public static string Month(YearMonth month) => month.ToString("uuuu-MM", CultureInfo.InvariantCulture);

    /// <summary>Why they may, or may not.</summary>
    public static string Why(MemberVersion version) => version.Why switch
    {
        MayDownloadWhy.Free => "free for everyone",
        MayDownloadWhy.PaidMonth => $"{(version.IsMonthGiven ? "given" : "paid")} month {Month(version.Month!.Value)}",
        MayDownloadWhy.Member => "a member now",
        MayDownloadWhy.KeptAfterLeaving => "it was there for members by the day they left, and they keep it",
        MayDownloadWhy.TookItWhileFree => "took it while it was free",
        MayDownloadWhy.Early => "chosen to have it early",
        MayDownloadWhy.NotOnTheShelf when version.State == ReleaseState.Early => "early, and not chosen for it",
        MayDownloadWhy.NotOnTheShelf when version.State == ReleaseState.Published => "nobody has decided who the library is for",
        MayDownloadWhy.NotOnTheShelf => "not published yet",
        MayDownloadWhy.Withdrawn => "withdrawn: nobody may",
        MayDownloadWhy.MembersOnly when version.Month is { } month => $"for members: no member now, and has not month {Month(month)}",
        MayDownloadWhy.MembersOnly => "for members: no member now, and it is of no month",
        _ => version.Why.ToString(),
    };

    public static string Mail(OutboxMail mail, DateTimeZone zone) => mail switch
    {
        { SentAt: { } sent } => "sent " + Dates.DayAndTime(sent, zone),
        { IsLeftOut: true } => mail.LastError ?? "left out",
        { GaveUpAt: not null } => "not sent, and not tried again" + (mail.LastError is { } error ? $": {error}" : ""),
        { LastError: not null } => "tried in vain, and tried again",
        _ => "waits to be sent",
    };
}

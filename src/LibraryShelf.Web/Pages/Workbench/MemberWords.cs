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
        MemberState.Paying => T("paying"),
        MemberState.Grace => T("payment failed"),
        MemberState.Leaving => T("leaving"),
        MemberState.Paused => T("paused"),
        MemberState.ByHand => T("by hand"),
        MemberState.Left => T("left"),
        _ => T("no members"),
    };

    /// <summary>"pays £6.00 each month", "by hand, no end", "leaving, until 3 Dec 2026"; both where both hold.</summary>
    public static string State(MemberLine line, DateTimeZone zone, DateTimeOffset now)
    {
        var byHand = line.ByHand?.IsActiveAt(now) != true ? null : line.ByHand.Until is { } until ? T($"by hand, until {LastDay(until, zone)}") : T("by hand, no end");
        var words = line.State switch
        {
            MemberState.Paying => line.Plan is { } plan ? T($"pays {PlanWords(plan)}") : T("pays"),
            MemberState.Grace => T($"payment failed, open until {LastDay(line.Paid!.ActiveUntil, zone)}"),
            MemberState.Leaving => T($"leaving, until {LastDay(line.Paid!.ActiveUntil, zone)}"),
            MemberState.Paused => T($"paused, open until {LastDay(line.Paid!.ActiveUntil, zone)}"),
            MemberState.ByHand => byHand!,
            MemberState.Left => line.Stretch?.Until is { } left && left <= now ? T($"left on {Dates.ShortDay(left, zone)}") : T("left"),
            _ => line.Stretch is { } coming ? T($"by hand, from {Dates.ShortDay(coming.From, zone)}") : T("no member"),
        };
        return line.State < MemberState.ByHand && byHand is not null ? T($"{words}; besides {byHand}") : words;
    }

    /// <summary>The last day that counts: the end itself is the first instant after it.</summary>
    public static string LastDay(DateTimeOffset until, DateTimeZone zone) => Dates.ShortDay(until.AddMilliseconds(-1), zone);

    /// <summary>"£6.00 each month".</summary>
    public static string PlanWords(Plan plan) => plan.Months == 12 ? T($"{Money.Of(plan.Minor, plan.Currency)} each year") : T($"{Money.Of(plan.Minor, plan.Currency)} each month");

    public static string Standing(MemberPays pays, DateTimeZone zone) => pays.Standing switch
    {
        MembershipStanding.Active => T($"Goes on by itself: the next payment is due on {Dates.Day(pays.Membership.PaidThrough!.Value, zone)}."),
        MembershipStanding.Grace => T($"The last payment did not go through, and is tried again by itself. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}."),
        MembershipStanding.Leaving => T($"Nothing more will be taken. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}."),
        MembershipStanding.Paused => T($"Paused: nothing is taken and no month is added. Open until {Dates.Day(pays.Membership.ActiveUntil, zone)}."),
        _ when pays.Membership.EndedAt is { } ended => T($"Ended on {Dates.Day(ended, zone)}."),
        _ => T("Nothing that is paid holds now, but the payment provider has not ended it: it may take a payment yet."),
    };

    /// <summary>"paid", "£2.00 of it paid back", "paid back on 3 Dec 2026: its month is taken back".</summary>
    public static string Payment(Payment payment, DateTimeZone zone) => payment switch
    {
        { IsDisputeLost: true, TakenBackAt: { } lost, Months: 12 } => T($"dispute lost on {Dates.ShortDay(lost, zone)}: its months are taken back"),
        { IsDisputeLost: true, TakenBackAt: { } lost } => T($"dispute lost on {Dates.ShortDay(lost, zone)}: its month is taken back"),
        { TakenBackAt: { } back, Months: 12 } => T($"paid back on {Dates.ShortDay(back, zone)}: its months are taken back"),
        { TakenBackAt: { } back } => T($"paid back on {Dates.ShortDay(back, zone)}: its month is taken back"),
        { RefundedMinor: > 0, Months: 12 } => T($"{Money.Of(payment.RefundedMinor, payment.Currency)} of it paid back; its months stay"),
        { RefundedMinor: > 0 } => T($"{Money.Of(payment.RefundedMinor, payment.Currency)} of it paid back; its month stays"),
        { Minor: 0 } => T("settled without money"),
        _ => T("paid"),
    };

    public static long LeftOf(Payment payment) => payment.IsDisputeLost ? 0 : payment.Minor - payment.RefundedMinor;

    /// <summary>Why they may, or may not.</summary>
    public static string Why(MemberVersion version) => version.Why switch
    {
        MayDownloadWhy.Free => T("free for everyone"),
        MayDownloadWhy.PaidMonth => version.IsMonthGiven ? T($"{DropWords.Month(version.Month!.Value)}, given to them") : T($"{DropWords.Month(version.Month!.Value)}, which they paid for"),
        MayDownloadWhy.Member => T("a member now"),
        MayDownloadWhy.KeptAfterLeaving => T("it was there for members by the day they left, and they keep it"),
        MayDownloadWhy.TookItWhileFree => T("took it while it was free"),
        MayDownloadWhy.Early => T("chosen to have it early"),
        MayDownloadWhy.NotOnTheShelf when version.State == ReleaseState.Early => T("early, and not chosen for it"),
        MayDownloadWhy.NotOnTheShelf when version.State == ReleaseState.Published => T("nobody has decided who the library is for"),
        MayDownloadWhy.NotOnTheShelf => T("not published yet"),
        MayDownloadWhy.Withdrawn => T("withdrawn: nobody may"),
        MayDownloadWhy.MembersOnly when version.Month is { } month => T($"for members: no member now, and has not {DropWords.Month(month)}"),
        MayDownloadWhy.MembersOnly => T("for members: no member now, and it is of no month"),
        _ => version.Why.ToString(),
    };

    public static string Mail(OutboxMail mail, DateTimeZone zone) => mail switch
    {
        { SentAt: { } sent } => T($"sent {Dates.DayAndTime(sent, zone)}"),
        { IsLeftOut: true } => mail.LastError ?? T("left out"),
        { GaveUpAt: not null, LastError: { } error } => T($"not sent, and not tried again: {error}"),
        { GaveUpAt: not null } => T("not sent, and not tried again"),
        { LastError: not null } => T("tried in vain, and tried again"),
        _ => T("waits to be sent"),
    };
}

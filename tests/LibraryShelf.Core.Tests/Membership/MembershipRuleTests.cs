using LibraryShelf.Core.Membership;

namespace LibraryShelf.Core.Tests.Membership;

/// <summary>The lines of docs/membership.md about how long a paid membership counts.</summary>
public sealed class MembershipRuleTests
{
    private const int Grace = 7;
    private static readonly DateTimeOffset Joined = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset Paid = Joined.AddMonths(1);

    [Fact]
    public void Paid_it_is_active_and_then_in_grace_and_then_left()
    {
        var membership = Paying();
        Assert.Equal(Paid.AddDays(Grace), membership.ActiveUntil);
        Assert.Equal(MembershipStanding.Active, MembershipRule.StandingAt(membership, Paid.AddHours(3).AddTicks(-1))); // the renewal is on its way
        Assert.Equal(MembershipStanding.Grace, MembershipRule.StandingAt(membership, Paid.AddHours(3)));
        membership.IsRefused = true;
        Assert.Equal(MembershipStanding.Grace, MembershipRule.StandingAt(membership, Paid));
        membership.IsRefused = false;
        Assert.Equal(MembershipStanding.Grace, MembershipRule.StandingAt(membership, Paid.AddDays(Grace).AddTicks(-1)));
        Assert.Equal(MembershipStanding.Left, MembershipRule.StandingAt(membership, Paid.AddDays(Grace)));
    }

    [Fact]
    public void Nothing_paid_is_never_active()
    {
        var membership = Paying(paid: false);
        Assert.Equal(MembershipStanding.Left, MembershipRule.StandingAt(membership, Joined));
    }

    [Fact]
    public void Who_leaves_stays_till_what_is_paid_runs_out_without_grace()
    {
        var membership = Paying(leaves: Paid);
        Assert.Equal(MembershipStanding.Leaving, MembershipRule.StandingAt(membership, Joined));
        Assert.Equal(Paid, membership.ActiveUntil);
    }

    [Theory]
    [InlineData(3, 3)] // it ends within the days of grace
    [InlineData(31, Grace)]
    public void Who_leaves_at_the_end_of_a_time_that_is_not_paid_is_in_grace_till_then_at_most(int leaves, int active) =>
        Assert.Equal(Paid.AddDays(active), Paying(leaves: Paid.AddDays(leaves)).ActiveUntil);

    [Fact]
    public void Paused_it_counts_till_what_is_paid_runs_out()
    {
        var membership = Paying(paused: true);
        Assert.Equal(MembershipStanding.Paused, MembershipRule.StandingAt(membership, Joined));
        Assert.Equal(Paid, membership.ActiveUntil);
    }

    [Theory]
    // Ended at once ends at once; ended by the provider after it gave up asking, days after the grace was over, ends with the grace.
    [InlineData(3, 3)]
    [InlineData(60, 37)]
    public void An_end_counts_where_it_comes_first(int endedAfterDays, int activeDays)
    {
        var membership = Paying(ended: Joined.AddDays(endedAfterDays));
        Assert.Equal(Joined.AddDays(activeDays), membership.ActiveUntil);
    }

    [Fact]
    public void The_kinder_rule_holds_whichever_came_first()
    {
        Assert.Equal(AfterLeaving.AllTillThen, MembershipRule.Kinder(AfterLeaving.PaidMonths, AfterLeaving.AllTillThen));
        Assert.Equal(AfterLeaving.AllTillThen, MembershipRule.Kinder(AfterLeaving.AllTillThen, AfterLeaving.PaidMonths));
        Assert.Equal(AfterLeaving.PaidMonths, MembershipRule.Kinder(AfterLeaving.PaidMonths, AfterLeaving.PaidMonths));
    }

    private static PaidMembership Paying(bool paid = true, DateTimeOffset? leaves = null, DateTimeOffset? ended = null, bool paused = false)
    {
        var membership = new PaidMembership { StartedAt = Joined, PaidThrough = paid ? Paid : null, LeavesAt = leaves, EndedAt = ended, IsPaused = paused };
        membership.ActiveUntil = MembershipRule.ActiveUntil(membership, Grace);
        return membership;
    }
}

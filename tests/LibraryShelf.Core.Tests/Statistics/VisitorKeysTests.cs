using System.Net;
using LibraryShelf.Core.Statistics;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class VisitorKeysTests
{
    private readonly FakeTimeProvider clock = new(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));

    // IAB Podcast Technical Measurement Guidelines 2.3 §5.5: six programs behind one address are six; IPv6 is compared on the /64.
    [Fact]
    public void A_network_and_a_program_are_a_visitor()
    {
        var keys = new VisitorKeys(clock);
        Assert.Equal(6, Enumerable.Range(0, 10).Select(i => keys.Of(IPAddress.Parse("192.0.2.7"), $"Reader {i % 6}")).Distinct().Count());
        Assert.Equal(keys.Of(IPAddress.Parse("2001:db8:1:2::7"), "a"), keys.Of(IPAddress.Parse("2001:db8:1:2:ffff::1"), "a"));
        Assert.NotEqual(keys.Of(IPAddress.Parse("2001:db8:1:2::7"), "a"), keys.Of(IPAddress.Parse("2001:db8:1:3::7"), "a"));
        Assert.Equal(keys.Of(IPAddress.Parse("192.0.2.7"), "a"), keys.Of(IPAddress.Parse("192.0.2.200"), "a"));
        Assert.Equal(keys.Of(IPAddress.Parse("192.0.2.7"), "a"), keys.Of(IPAddress.Parse("::ffff:192.0.2.7"), "a"));
        Assert.NotEqual(keys.Of(IPAddress.Parse("192.0.3.7"), "a"), keys.Of(IPAddress.Parse("192.0.2.7"), "a"));
        Assert.Matches("^[A-Za-z0-9_-]{16}$", keys.Of(null, ""));
    }

    // COUNTER 5.1 §7.3: at 13:35 on 15 June 2024 a session without a cookie is 192.1.1.168|Mozilla/5.0|2024-06-15|13. Rejected: it holds the address, and an hour later it is another's.
    [Fact]
    public void Neither_the_hour_nor_the_last_part_of_the_address_makes_another_visitor()
    {
        var time = new FakeTimeProvider(new DateTimeOffset(2024, 6, 15, 13, 35, 0, TimeSpan.Zero));
        var keys = new VisitorKeys(time);
        string Theirs(string address = "192.1.1.168") => keys.Of(IPAddress.Parse(address), "Mozilla/5.0");
        var session = Theirs();
        Assert.DoesNotContain("192.1.1.168", session, StringComparison.Ordinal);
        time.Advance(TimeSpan.FromMinutes(30));
        Assert.Equal(session, Theirs());
        Assert.Equal(session, Theirs("192.1.1.9"));
        Assert.NotEqual(session, Theirs("192.1.2.168"));
        time.Advance(TimeSpan.FromDays(1));
        Assert.NotEqual(session, Theirs());
    }

    [Fact]
    public void The_key_is_thrown_away_at_midnight_and_with_the_program()
    {
        var keys = new VisitorKeys(clock);
        string Now() => keys.Of(IPAddress.Loopback, "a");
        var noon = Now();
        clock.Advance(TimeSpan.FromHours(12) - TimeSpan.FromMilliseconds(1));
        Assert.Equal(noon, Now());
        clock.Advance(TimeSpan.FromMilliseconds(1));
        Assert.NotEqual(noon, Now());
        Assert.NotEqual(Now(), new VisitorKeys(clock).Of(IPAddress.Loopback, "a"));
        var today = Now();
        keys.DropOld();
        Assert.Equal(today, Now());
        Assert.True(keys.HasKey);
        clock.Advance(TimeSpan.FromDays(1));
        keys.DropOld();
        Assert.False(keys.HasKey);
    }
}

using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Statistics.Members;
using NodaTime.Text;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>A shelf with two years of members, for who only looks.</summary>
public sealed class FilledMembers : IAsyncLifetime
{
    public ShelfHost Host { get; private set; } = null!;

    public async Task InitializeAsync()
    {
        Host = await MemberNumbersPageTests.HostAsync();
        await MemberNumbersPageTests.FillAsync(Host);
    }

    public async Task DisposeAsync() => await Host.DisposeAsync();
}

public sealed class MemberNumbersPageTests(FilledMembers filled) : IClassFixture<FilledMembers>
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    private static List<string> Rows(IElement page, string region) => [.. page.QuerySelectorAll($"[aria-label='{region}'] tbody tr").Select(Row)];

    internal static async Task<ShelfHost> HostAsync()
    {
        var host = new ShelfHost { Clock = new(Now) };
        await host.ClaimAsync();
        return host;
    }

    [Fact]
    public async Task A_shelf_without_members_and_drops_has_numbers_of_them_too()
    {
        await using var host = await HostAsync();
        var maker = await host.MakerAsync();
        Assert.Equal("No members, as many as at the start of November.", (await maker.PageAsync("/workbench/numbers/members")).QuerySelector("p.said")!.Words());
        Assert.StartsWith("No drop went out", (await maker.PageAsync("/workbench/numbers/drops")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }

    /// <summary>Forty people drawn over two years, given and paid, some twice; two of them had a renewal that failed.</summary>
    internal static Task FillAsync(ShelfHost host) => host.WithDbAsync(async db =>
    {
        var random = new Random(7);
        var plan = new Plan { Minor = 9_000, Months = 12, Currency = "GBP" };
        db.Plans.Add(plan);
        await db.SaveChangesAsync();
        for (var i = 0; i < 40; i++)
        {
            var email = $"p{i}@example.org";
            var person = new Person { Email = email, UserName = email, NormalizedEmail = email.ToUpperInvariant(), NormalizedUserName = email.ToUpperInvariant(), SecurityStamp = "x", CreatedAt = Now };
            db.Users.Add(person);
            await db.SaveChangesAsync();
            var at = Now.AddDays(-random.Next(700));
            for (var n = 0; n < 1 + random.Next(2); n++, at = at.AddDays(200))
            {
                var until = at.AddDays(20 + random.Next(400));
                if (at > Now) continue;
                if (random.Next(3) == 0) db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = at, Until = until });
                else db.PaidMemberships.Add(new PaidMembership { PersonId = person.Id, PlanId = plan.Id, ProviderId = $"sub_{i}_{n}", StartedAt = at, PaidThrough = until, ActiveUntil = until });
            }
            if (i % 3 == 0) db.PersonFirsts.Add(new PersonFirst { PersonId = person.Id, FreeAt = Now.AddDays(-random.Next(400)) });
        }
        db.FailedRenewals.AddRange(new FailedRenewal { PaidMembershipId = 1, Since = Now.AddDays(-40) }, new FailedRenewal { PaidMembershipId = 2, Since = Now.AddDays(-41), RecoveredAt = Now });
        db.MonthIncomes.AddRange(new MonthIncome { Month = new(2026, 9), Currency = "EUR", Minor = 500, Memberships = 1, At = Now }, new MonthIncome { Month = new(2026, 10), Currency = "GBP", Minor = 1234, Memberships = 2, At = Now });
        await db.SaveChangesAsync();
    });

    [Fact]
    public async Task Page_file_and_database_say_the_same_of_members()
    {
        var host = filled.Host;
        var maker = await host.MakerAsync();
        var numbers = await host.AskDbAsync(db => new ReadMemberNumbers(db, host.Clock!).RunAsync(new(2025, 10), null, default));
        Assert.Equal(14, numbers.Months.Count);
        Assert.Contains(numbers.Months, m => m.Returned > 0);
        var page = (await maker.PageAsync("/workbench/numbers/members?from=2025-10")).QuerySelector("main")!;
        Assert.Equal(19, numbers.Members);
        Assert.StartsWith("Nineteen members, ", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);

        // Churn by its definition, of the last month that is over, and as the table has it.
        var table = Rows(page, "Members by month");
        var october = numbers.Months[^2];
        Assert.InRange(october.Left, 1, 99);
        Assert.Contains($" In October 2026 {october.Left} left, {100.0 * october.Left / october.AtStart:0.0} % of {october.AtStart} members at its start.", page.QuerySelector("p.said")!.Words().Replace('\u00a0', ' '), StringComparison.Ordinal);
        Assert.Contains($"{100.0 * october.Left / october.AtStart:0.0} %", table[1].Replace('\u00a0', ' '), StringComparison.Ordinal);
        Assert.Equal(
            numbers.Months.Reverse().Select(m => $"{m.AtStart}|{m.GivenAtStart}|{m.Joined + m.Returned}|{m.Joined}|{m.JoinedGiven}|{m.Returned}|{m.Left}|{m.LeftGiven}"),
            table.Select(r => string.Join('|', r.Split('|')[1..9])));
        Assert.Equal("£12.34", table[1].Split('|')[^1]);
        Assert.Equal(("2", "1"), (table[1].Split('|')[10], table[1].Split('|')[11]));
        // Of months before anything was written down nothing is said.
        Assert.All(table.Skip(3), r => Assert.EndsWith("|||", r, StringComparison.Ordinal));
        // Each figure of the picture, oldest first; a year to a row, so the two months before are in one of their own.
        Assert.Equal(2, page.QuerySelectorAll("svg:has(> title[id^=in-and-out])").Length);
        var figures = page.QuerySelectorAll("svg:has(> title[id^=in-and-out])").SelectMany(svg => svg.QuerySelectorAll("text:not([class])").Select(t => t.Words())).ToList();
        Assert.Equal(numbers.Months.Sum(m => m.Joined + m.Returned + m.Left), figures.Sum(int.Parse));
        Assert.Equal(28, figures.Count);

        var file = (await maker.GetStringAsync("/workbench/numbers/members?handler=csv&from=2025-10")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal("month,is_over,at_start,at_start_given,joined,joined_given,returned,left,left_given,churn,failed_renewals,recovered_renewals,income_EUR_minor,income_GBP_minor", file[0]);
        Assert.Equal(
            numbers.Months.Select(m => $"{YearMonthPattern.Iso.Format(m.Month)},{(m.IsOver ? "yes" : "no")},{m.AtStart},{m.GivenAtStart},{m.Joined},{m.JoinedGiven},{m.Returned},{m.Left},{m.LeftGiven}"),
            file.Skip(1).Select(l => string.Join(',', l.Split(',')[..9])));
        Assert.EndsWith(",2,1,,1234", file[^2], StringComparison.Ordinal);

        var stays = (await maker.GetStringAsync("/workbench/numbers/members?handler=csv&what=stays&from=2025-10")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(numbers.Stays.SelectMany(r => r.Members.Select((m, n) => $"{YearMonthPattern.Iso.Format(r.Month)},{n},{r.Joined},{m}")), stays.Skip(1));
        Assert.Equal(numbers.Stays.Select(r => string.Join('|', r.Members)), Rows(page, "How many stay, in people").Select(r => r[(r.IndexOf('|', StringComparison.Ordinal) + 1)..].TrimEnd('|')));
        var free = (await maker.GetStringAsync("/workbench/numbers/members?handler=csv&what=free&from=2025-10")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(numbers.Free.Sum(f => f.People), free.Skip(1).Sum(l => int.Parse(l.Split(',')[1], null)));
        var leaving = (await maker.GetStringAsync("/workbench/numbers/members?handler=csv&what=leaving&from=2025-10")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(numbers.LeftAfter.Select(l => $"{l.Months},{l.People}"), leaving.Skip(1));
        Assert.True(numbers.Leavers > 3, $"{numbers.Leavers} left");
    }

    [Fact]
    public async Task Months_stand_beside_as_many_other_months()
    {
        var host = filled.Host;
        var (now, then) = (await host.AskDbAsync(db => new ReadMemberNumbers(db, host.Clock!).RunAsync(new(2026, 6), null, default)), await host.AskDbAsync(db => new ReadMemberNumbers(db, host.Clock!).RunAsync(new(2025, 12), new(2026, 5), default)));
        var maker = await host.MakerAsync();
        var page = (await maker.PageAsync("/workbench/numbers/members?from=2026-06&against=2025-12")).QuerySelector("main")!;
        var all = Rows(page, "Both beside each other").Select(r => r.Split('|')).ToDictionary(r => r[0]);
        var rows = all.Where(r => r.Value[1..3].All(f => int.TryParse(f, out _))).ToDictionary(r => r.Key, r => (int.Parse(r.Value[1], null), int.Parse(r.Value[2], null)));
        Assert.Equal((6, 6), rows["Months"]);
        Assert.Equal((now.Months.Sum(m => m.Joined), then.Months.Sum(m => m.Joined)), rows["Joined"]);
        Assert.Equal((now.Months.Sum(m => m.Left), then.Months.Sum(m => m.Left)), rows["Left"]);
        // One range ends where the other begins.
        Assert.Equal((now.Members, now.Months[0].AtStart), rows["Members at the end"]);
        Assert.Equal((now.Months[0].AtStart, then.Months[0].AtStart), rows["Members at the start"]);
        // Of the months before anything was written down nothing is said of renewals.
        Assert.DoesNotContain("Renewals failed", rows.Keys);
        Assert.Contains($"In the months shown {rows["Joined"].Item1} joined, beside {rows["Joined"].Item2} in December 2025 to May 2026. ", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal("2025-12", page.QuerySelector("#against")!.GetAttribute("value"));
        // One scale: whoever is as many is as high in both pictures.
        var heights = page.QuerySelectorAll("svg:has(> title[id^=in-and-out])").SelectMany(svg => svg.QuerySelectorAll("g[stroke] rect").Select(r => r.GetAttribute("height")).Zip(svg.QuerySelectorAll("text:not([class])").Select(t => t.Words()).TakeLast(6))).Distinct().ToList();
        Assert.Equal(heights.Count, heights.Select(h => h.Second).Distinct(StringComparer.Ordinal).Count());
        Assert.Equal(["in-and-out-0", "in-and-out-beside-0"], page.QuerySelectorAll("svg title[id^=in-and-out]").Select(t => t.Id));

        // Who stays, who joined after something free and who left after how long: each has its second picture, table and file, which are what those months are alone.
        Assert.Equal(then.Stays.Select(r => string.Join('|', r.Members)), Rows(page, "How many stay, in people, beside it").Select(r => r[(r.IndexOf('|', StringComparison.Ordinal) + 1)..].TrimEnd('|')));
        Assert.Equal(then.Free.Select(f => $"{f.People}|{f.Joined[0]}|{f.Joined[1]}|{f.Joined[2]}"), Rows(page, "Joining after free downloads, beside it").Select(r => r[(r.IndexOf('|', StringComparison.Ordinal) + 1)..].Replace(" so far", "", StringComparison.Ordinal)));
        Assert.Equal(then.LeftAfter.Select(l => $"{l.Months}|{l.People}"), page.QuerySelectorAll("#leaving-beside-table tbody tr").Select(Row).Where(r => !r.EndsWith("|0", StringComparison.Ordinal)));
        foreach (var (name, what) in new[] { ("How many stay of the months beside", "stays"), ("Joining after free downloads of the months beside", "free"), ("Months until leaving of the months beside", "leaving") })
            Assert.Equal(
                await maker.GetStringAsync($"/workbench/numbers/members?handler=csv&what={what}&from=2025-12&to=2026-05"),
                await maker.GetStringAsync(new Uri(page.QuerySelectorAll("figcaption a").Single(a => a.Words() == name + ", CSV").GetAttribute("href")!, UriKind.Relative)));
        // In sums, added up by hand from the cells: of those for whom the months or days are over.
        foreach (var months in new[] { 1, 3 })
            Assert.Equal(
                new[] { now, then }.Select(n => n.Stays.Where(r => r.Members.Count > months).ToList()).Select(known => known.Count == 0 ? "–" : $"{Math.Round(100m * known.Sum(r => r.Members[months]) / known.Sum(r => r.Members[0]), MidpointRounding.AwayFromZero)}"),
                all[$"Of who joined, still members after {(months == 1 ? "1 month" : "3 months")}, in a hundred"][1..3]);
        Assert.Equal(new[] { now, then }.Select(n => n.Free.Where(f => f.AreOver[1]).ToList()).Select(known => $"{Math.Round(100m * known.Sum(f => f.Joined[1]) / known.Sum(f => f.People), MidpointRounding.AwayFromZero)}"), all["Joined within 30 days of a first free download, in a hundred"][1..3]);
        Assert.Equal((now.Leavers, then.Leavers), rows["First stays that ended"]);
        // One scale here too, and as many columns.
        var columns = new[] { "leaving", "leaving-beside" }.Select(id => page.QuerySelector($"svg[aria-labelledby={id}]")!.QuerySelectorAll("rect").Select(r => int.Parse(r.GetAttribute("height")!, null)).ToList()).ToList();
        Assert.Equal((columns[0].Count, 96), (columns[1].Count, columns.Max(c => c.Max())));
        Assert.Equal(now.LeftAfter.Max(l => l.People) > then.LeftAfter.Max(l => l.People), columns[0].Max() > columns[1].Max());
    }

    /// <summary>September brought £0 and €5.00, October £12.34, and what runs now is all of November's.</summary>
    [Fact]
    public async Task Income_of_other_months_stands_beside_it_in_one_scale()
    {
        var host = filled.Host;
        var maker = await host.MakerAsync();
        var page = (await maker.PageAsync("/workbench/numbers/members?from=2026-10&against=2026-09")).QuerySelector("main")!;
        var income = (await host.AskDbAsync(db => new ReadMemberNumbers(db, host.Clock!).RunAsync(null, null, default))).Income.Single();
        Assert.Equal("GBP", income.Currency);
        var present = LibraryShelf.Core.Shared.Money.Short(income.Minor, "GBP");
        Assert.Equal([$"Nov 2026|{present}|{income.Memberships}", "Oct 2026|£12.34|2"], page.QuerySelectorAll("#income-GBP-table tbody tr").Select(Row));
        Assert.Equal(["Oct 2026|£12.34|2", "Sep 2026|£0|0"], page.QuerySelectorAll("#income-beside-GBP-table tbody tr").Select(Row));
        Assert.Equal(["Oct 2026|€0|0", "Sep 2026|€5|1"], page.QuerySelectorAll("#income-beside-EUR-table tbody tr").Select(Row));
        int Height(string id, int column) => int.Parse(page.QuerySelector($"svg[aria-labelledby={id}]")!.QuerySelectorAll("rect")[column].GetAttribute("height")!, null);
        Assert.Equal((96, Height("income-GBP", 0)), (Height("income-GBP", 1), Height("income-beside-GBP", 1)));
        Assert.Equal(
            [$"Income a month at the end, in GBP|{LibraryShelf.Core.Shared.Money.Of(income.Minor, "GBP")}|£12.34|{LibraryShelf.Web.Pages.Workbench.Numbers.Beside.Change(income.Minor, 1234, isMoney: true)}"],
            Rows(page, "Both beside each other").Where(r => r.StartsWith("Income", StringComparison.Ordinal)));
        // Of months before anything was written down nothing is known, which is not the same as nothing.
        var before = (await maker.PageAsync("/workbench/numbers/members?from=2026-10&to=2026-10&against=2026-08")).QuerySelector("main")!;
        Assert.Contains("What came in is not known of these months: it was not written down yet.", before.QuerySelectorAll("p").Select(p => p.Words()));
        Assert.Equal(["Income a month at the end, in GBP|£12.34|–|not known of both"], Rows(before, "Both beside each other").Where(r => r.StartsWith("Income", StringComparison.Ordinal)));
    }

    /// <summary>The page brings a first range to where something is known; a second one that is brought elsewhere would be another than was asked for.</summary>
    [Theory]
    [InlineData("2019-03", " Nothing stands beside it: of months before ")]
    [InlineData("2026-12", " Nothing stands beside it: December 2026 has not come yet.")]
    public async Task Months_that_are_not_known_are_compared_with_none_and_that_is_said(string against, string said)
    {
        var host = filled.Host;
        var maker = await host.MakerAsync();
        foreach (var path in new[] { "members", "drops" })
        {
            var page = (await maker.PageAsync($"/workbench/numbers/{path}?from=2026-06&to=2026-08&against={against}")).QuerySelector("main")!;
            Assert.Contains(said, page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
            Assert.Equal((null, against), (page.QuerySelector("#beside"), page.QuerySelector("#against")!.GetAttribute("value")));
        }
        Assert.EndsWith(" January 2027 has not come yet: November 2026 is shown.", (await maker.PageAsync("/workbench/numbers/members?from=2027-01")).QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Months_that_are_not_over_are_said_and_no_difference_is()
    {
        var host = filled.Host;
        var page = (await (await host.MakerAsync()).PageAsync("/workbench/numbers/members?from=2026-03&to=2026-08&against=2026-09")).QuerySelector("main")!;
        Assert.EndsWith(" November 2026 is not over, so no difference is said.", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("% more", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.DoesNotContain("% fewer", page.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(["Joined|not over yet", "Came back|not over yet", "Left|not over yet"], Rows(page, "Both beside each other").Where(r => r.Split('|')[0] is "Joined" or "Came back" or "Left").Select(r => $"{r.Split('|')[0]}|{r.Split('|')[3]}"));
        var whole = (await (await host.MakerAsync()).PageAsync("/workbench/numbers/members?from=2026-05&to=2026-07&against=2025-05")).QuerySelector("main")!;
        Assert.DoesNotContain("not over", whole.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Memberships_that_bring_nothing_run_all_the_same_and_earlier_months_keep_their_picture()
    {
        await using var host = await HostAsync();
        await host.WithDbAsync(async db =>
        {
            var plan = new Plan { Minor = 900, Currency = "GBP" };
            var person = new Person { Email = "p@example.org", UserName = "p@example.org", NormalizedEmail = "P@EXAMPLE.ORG", NormalizedUserName = "P@EXAMPLE.ORG", SecurityStamp = "x", CreatedAt = Now };
            db.AddRange(plan, person);
            await db.SaveChangesAsync();
            db.PaidMemberships.Add(new PaidMembership { PersonId = person.Id, PlanId = plan.Id, ProviderId = "sub_1", StartedAt = Now.AddDays(-100), PaidThrough = Now.AddDays(9), ActiveUntil = Now.AddDays(9), LeavesAt = Now.AddDays(9) });
            db.MonthIncomes.AddRange(new MonthIncome { Month = new(2026, 9), Currency = "GBP", Minor = 900, Memberships = 1, At = Now }, new MonthIncome { Month = new(2026, 10), Currency = "GBP", Minor = 1234, Memberships = 1, At = Now });
            await db.SaveChangesAsync();
        });
        var page = (await (await host.MakerAsync()).PageAsync("/workbench/numbers/members")).QuerySelector("main")!;
        Assert.Contains("Nothing comes in each month: every paid membership that runs is left at its end, rests, or has a price that is not known here.", page.QuerySelectorAll("p").Select(p => p.Words()));
        Assert.DoesNotContain("No paid membership is running.", page.Words(), StringComparison.Ordinal);
        Assert.NotNull(page.QuerySelector("svg [id^=income-GBP], svg[id^=income-GBP], [aria-labelledby^=income-GBP]"));
    }

    [Fact]
    public async Task Page_and_file_say_the_same_of_drops_and_the_latest_stands_against_those_before()
    {
        await using var host = await HostAsync();
        await host.WithDbAsync(async db =>
        {
            foreach (var (month, days, counts) in new[] { (9, 60, new[] { 20, 4, 8, 10, 15 }), (10, 30, [40, 10, 12, 20, 20]), (11, 3, [10, 2, 3, 3, 3]) })
            {
                var library = new Library { Slug = $"box{month}", Title = $"Box, {month}" };
                library.Releases.Add(new Release { Number = "1.0.0" });
                var drop = new Drop { Month = new(2026, month), State = DropState.Sent, SentAt = Now.AddDays(-days) };
                db.AddRange(library, drop);
                await db.SaveChangesAsync();
                db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = library.Releases[0].Id });
                db.DropUptakes.Add(new DropUptake { DropId = drop.Id, Holders = counts[0], After1 = counts[1], After7 = counts[2], After30 = counts[3], ByNow = counts[4], RolledAt = Now });
            }
            await db.SaveChangesAsync();
        });
        var maker = await host.MakerAsync();
        var page = (await maker.PageAsync("/workbench/numbers/drops")).QuerySelector("main")!;
        // 20 and 25 in a hundred within a day before it; the middle is 22.5.
        Assert.Equal("30 in a hundred have taken the drop of November 2026 by now. Within 1 day it was 20; the drops before it usually came to 23.", page.QuerySelector("p.said")!.Words());
        Assert.Equal(
            ["Nov 2026|Box, 11|10|2 (20)|23|3 (30) so far|35|3 (30) so far|50|3 (30)", "Oct 2026|Box, 10|40|10 (25)|20|12 (30)|40|20 (50)|50|20 (50)", "Sep 2026|Box, 9|20|4 (20)||8 (40)||10 (50)||15 (75)"],
            Rows(page, "Uptake by drop"));
        Assert.Equal(["30", "30", "30", "50", "40", "75"], page.QuerySelectorAll(".uptake svg").Skip(1).SelectMany(s => s.QuerySelectorAll("text").Select(t => t.Words())));
        var beside = (await maker.PageAsync("/workbench/numbers/drops?from=2026-10&to=2026-10&against=2026-09")).QuerySelector("main")!;
        Assert.EndsWith("Within 7 days the drops shown came to 30 in a hundred, the middle of them; those of September 2026 to 40: 10 in a hundred less.", beside.QuerySelector("p.said")!.Words(), StringComparison.Ordinal);
        Assert.Equal(
            ["Drops|1|1|as many", "People whose they were, drop by drop|40|20|100 % more", "Within 1 day, in a hundred, the middle|25|20|5 in a hundred more", "Within 7 days, in a hundred, the middle|30|40|10 in a hundred less", "Within 30 days, in a hundred, the middle|50|50|the same"],
            Rows(beside, "Both beside each other"));
        // Both have their picture, each in a hundred, and their table.
        Assert.Equal(["uptake-words: 30 50", "uptake-beside: 40 75"], beside.QuerySelectorAll(".uptake").Select(u => $"{u.GetAttribute("aria-labelledby")}: {string.Join(' ', u.QuerySelectorAll("svg").Skip(1).SelectMany(s => s.QuerySelectorAll("text").Select(t => t.Words())))}"));
        Assert.Equal(["Sep 2026|Box, 9|20|4 (20)||8 (40)||10 (50)||15 (75)"], Rows(beside, "Uptake by drop, beside it"));
        Assert.Single(page.QuerySelectorAll(".uptake .now-ink"));
        Assert.Single(page.QuerySelectorAll(".uptake .ring[stroke-dasharray]"));
        var file = (await maker.GetStringAsync("/workbench/numbers/drops?handler=csv&from=2026-10")).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(["2026-11,\"Box, 11\",2026-11-22T12:00:00Z,10,2,yes,3,no,3,no,3,23,35,50", "2026-10,\"Box, 10\",2026-10-26T12:00:00Z,40,10,yes,12,yes,20,yes,20,20,40,50"], file.Skip(1));
    }
}

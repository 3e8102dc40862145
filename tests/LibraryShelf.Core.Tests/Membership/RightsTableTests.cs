using System.Text.RegularExpressions;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;

namespace LibraryShelf.Core.Tests.Membership;

/// <summary>Each line of the table in docs/membership.md is tried, under every value of what the line leaves open.</summary>
public sealed class RightsTableTests
{
    private static readonly string[] Header = ["version", "library is for", "person", "may download", "why"];

    public static TheoryData<string> Lines() => [.. Table().Select(cells => string.Join(" | ", cells))];

    [Theory, MemberData(nameof(Lines))]
    public void A_line_of_the_table_holds(string line)
    {
        var cells = line.Split(" | ");
        var tried = 0;
        foreach (var facts in AllFacts().Where(f => Fits(cells, f)))
        {
            tried++;
            var why = MayDownload.Decide(facts);
            Assert.Equal(cells[4], why.ToString());
            Assert.Equal(cells[3] == "yes", MayDownload.IsYes(why));
        }
        Assert.NotEqual(0, tried);
    }

    [Fact]
    public void Every_case_is_in_exactly_one_line()
    {
        var table = Table();
        Assert.All(AllFacts(), facts => Assert.Single(table, cells => Fits(cells, facts)));
    }

    private static IEnumerable<MayDownload.Facts> AllFacts() =>
        from state in Enum.GetValues<ReleaseState>()
        from audience in new Audience?[] { null, Audience.Free, Audience.Members }
        from bits in Enumerable.Range(0, 128)
        let facts = new MayDownload.Facts(state, audience, (bits & 1) > 0, (bits & 2) > 0, (bits & 4) > 0, (bits & 8) > 0, (bits & 16) > 0,
            (bits & 32) > 0, (bits & 64) > 0)
        // Nothing is known of someone signed out.
        where facts.IsSignedIn || !(facts.IsMaker || facts.IsActiveMember || facts.TookItWhileFree || facts.IsEarlyGuest || facts.HasPaidMonth || facts.KeptAfterLeaving)
        select facts;

    private static bool Fits(string[] cells, MayDownload.Facts facts) => State(cells[0], facts.State) && For(cells[1], facts.Audience) && Person(cells[2], facts);

    private static bool State(string cell, ReleaseState state) => cell switch
    {
        "any sealed one" => state is not (ReleaseState.Draft or ReleaseState.Checked),
        "draft, checked" => state is ReleaseState.Draft or ReleaseState.Checked,
        "sealed, scheduled" => state is ReleaseState.Sealed or ReleaseState.Scheduled,
        "early" => state == ReleaseState.Early,
        "withdrawn" => state == ReleaseState.Withdrawn,
        "published" => state == ReleaseState.Published,
        _ => throw new InvalidOperationException($"The table names a version “{cell}” that this test does not know."),
    };

    private static bool For(string cell, Audience? audience) => cell switch
    {
        "anyone" => true,
        "not decided" => audience is null,
        "free" => audience == Audience.Free,
        "members" => audience == Audience.Members,
        _ => throw new InvalidOperationException($"The table names an audience “{cell}” that this test does not know."),
    };

    private static bool Person(string cell, MayDownload.Facts f) => cell switch
    {
        "the maker" => f.IsMaker,
        "anyone" => true,
        "anyone but the maker" => !f.IsMaker,
        "chosen for it" => f is { IsMaker: false, IsEarlyGuest: true },
        "not chosen for it" => f is { IsMaker: false, IsEarlyGuest: false },
        "signed out" => !f.IsSignedIn,
        "has its month" => f is { IsMaker: false, HasPaidMonth: true },
        "an active member without its month" => f is { IsMaker: false, HasPaidMonth: false, IsActiveMember: true },
        "no member, left under the kinder rule" => NoRight(f) && f.KeptAfterLeaving,
        "no member, took it while free" => NoRight(f) && f is { KeptAfterLeaving: false, TookItWhileFree: true },
        "no member, did not" => NoRight(f) && f is { KeptAfterLeaving: false, TookItWhileFree: false },
        _ => throw new InvalidOperationException($"The table names a person “{cell}” that this test does not know."),
    };

    private static bool NoRight(MayDownload.Facts f) => f is { IsSignedIn: true, IsMaker: false, HasPaidMonth: false, IsActiveMember: false };

    private static List<string[]> Table()
    {
        var root = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(root.FullName, "LibraryShelf.sln"))) root = root.Parent!;
        var rows = File.ReadLines(Path.Combine(root.FullName, "docs", "membership.md"))
            .SkipWhile(line => !line.StartsWith('|')).TakeWhile(line => line.StartsWith('|')).Where(line => !Regex.IsMatch(line, "^[|: -]+$"))
            .Select(line => line.Trim('|').Split('|').Select(cell => cell.Trim()).ToArray()).ToList();
        Assert.Equal(Header, rows[0]);
        return rows[1..];
    }
}

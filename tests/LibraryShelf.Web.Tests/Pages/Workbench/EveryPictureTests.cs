using System.Text.RegularExpressions;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Workbench.Numbers;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>A claimed shelf with one version out, and figures of all kinds.</summary>
public sealed class FiguredHost : IAsyncLifetime
{
    private static readonly DateTimeOffset Now = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    public ShelfHost Host { get; } = new() { Clock = new(Now) };

    public async Task InitializeAsync()
    {
        await Host.ClaimAsync();
        await Host.WithDbAsync(async db =>
        {
            var library = new Library { Slug = "tin-roof", Title = "Tin Roof", CreatedAt = Now };
            var release = new Release { Number = "1.0.0", CreatedAt = Now };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(release.MoveTo(state, Now));
            library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = Now });
            library.Releases.Add(release);
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            await FiguresToShow.AddAsync(db, Now);
        });
    }

    public async Task DisposeAsync() => await Host.DisposeAsync();
}

/// <summary>Whatever is drawn on a page of figures stands in a figure with the same as a table, its rule and its file. There is no list of exceptions, and no page has a picture that is empty.</summary>
public sealed partial class EveryPictureTests(FiguredHost figured) : IClassFixture<FiguredHost>
{
    /// <summary>Sixty days, or the months from summer on; and as many of the spring beside them. In days each day has its row, so that every figure of a picture can be looked for in its table.</summary>
    private static readonly string[] Ranges = ["?from=2026-09-27&to=2026-11-25", "?from=2026-06", "?from=2026-04-01&to=2026-05-30&against=2026-02-11", "?from=2026-06&to=2026-10&against=2026-01"];

    [GeneratedRegex(@"\d+(?:[.,]\d+)*", RegexOptions.NonBacktracking)]
    private static partial Regex Figure();

    /// <summary>"15 April 2026", "1–7 Nov", "Nov 2026".</summary>
    [GeneratedRegex(@"(?:\d{1,2}\s*–\s*)?(?:\b\d{1,2}\s+)?\b(?:Jan|January|Feb|February|Mar|March|Apr|April|May|June?|July?|Aug|August|Sept?|September|Oct|October|Nov|November|Dec|December)\b(?:\s+20\d\d\b)?", RegexOptions.NonBacktracking)]
    private static partial Regex Dates();

    [Fact]
    public async Task Every_picture_has_its_table_its_file_and_its_definition()
    {
        var maker = await figured.Host.MakerAsync();
        var (wrong, files) = (new List<string>(), new Dictionary<string, string?>());
        foreach (var path in NumbersParts.All.SelectMany(part => Ranges.Where(r => Fits(part.Path, r)).Select(r => part.Path + r)))
        {
            var main = (await maker.PageAsync(path)).QuerySelector("main")!;
            Assert.All(main.QuerySelectorAll(".empty"), empty => Assert.Fail($"{path}: nothing to show: {empty.Words()}"));
            var drawings = main.QuerySelectorAll("svg:not(.icon)").Where(svg => svg.ParentElement!.Closest("svg") is null).ToList();
            Assert.NotEmpty(drawings);
            wrong.AddRange(drawings.Where(d => d.Closest("figure") is null).Select(d => $"{path}: in no figure: {d.OuterHtml[..Math.Min(200, d.OuterHtml.Length)]}"));
            var rules = new HashSet<string>(StringComparer.Ordinal);
            foreach (var figure in main.QuerySelectorAll("figure"))
                wrong.AddRange((await FaultsAsync(maker, figure, files, rules)).Select(fault => $"{path}: {fault} {figure.QuerySelector("title, caption, .hidden-words, h2")?.Words()}"));
        }
        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
        Assert.InRange(files.Count, 15, 100);
    }

    /// <summary>The most came when 1.0.0 came out on 15 April and when the month's drop did; that stands at the bars and in the line, shorter on a phone, and in the words and the table of each.</summary>
    [Fact]
    public async Task Peaks_are_named_by_what_came_out_then()
    {
        var maker = await figured.Host.MakerAsync();
        var page = await maker.PageAsync("/workbench/numbers/downloads?from=2026-03-20&to=2026-05-10&against=2026-02-11");
        var bars = page.QuerySelectorAll("figure").First(f => f.QuerySelector("title#bars") is not null);
        Assert.Equal(["wide: Tin Roof 1.0.0 out: 33", "tight: 1.0.0 out: 33", "1 May drop: 23"], bars.QuerySelectorAll("svg > g > text").Select(Named));
        Assert.EndsWith("Highest: 15 Apr, Tin Roof 1.0.0 out: 33; 1 May drop: 23.", bars.QuerySelector("title")!.Words(), StringComparison.Ordinal);
        Assert.Equal(["1 May 2026|25|23|The drop", "30 April 2026|6|4|", "15 April 2026|35|33|Tin Roof 1.0.0"], bars.QuerySelectorAll("tbody tr").Select(Row).Where(r => r.StartsWith("1 May ", StringComparison.Ordinal) || r.StartsWith("30 April ", StringComparison.Ordinal) || r.StartsWith("15 April ", StringComparison.Ordinal)));
        var line = page.QuerySelectorAll("figure").First(f => f.QuerySelector("title#people") is not null);
        Assert.Equal(["wide: Tin Roof 1.0.0 out: 33", "tight: 1.0.0 out: 33"], line.QuerySelectorAll(".line-field > svg > text").Select(Named));
        Assert.Contains("Highest: 15 Apr, Tin Roof 1.0.0 out: 33.", line.QuerySelector("title")!.Words(), StringComparison.Ordinal);
        Assert.Contains("15 April 2026|33|2|33|2|Tin Roof 1.0.0", line.QuerySelectorAll("tbody tr").Select(Row));
        // Of the days beside each has its own; of one box drops are none of its.
        Assert.Contains(page.QuerySelectorAll("figure").First(f => f.QuerySelector("title#bars-beside") is not null).QuerySelectorAll("text"), t => t.Words().StartsWith("1 Mar drop: ", StringComparison.Ordinal));
        Assert.Contains("1 May: 23", (await maker.PageAsync("/workbench/numbers/downloads?library=tin-roof&from=2026-03-20&to=2026-05-10")).QuerySelector("title#bars")!.Words(), StringComparison.Ordinal);
        Assert.Contains("1 Nov drop: ", (await maker.PageAsync("/workbench/numbers")).QuerySelector("title#bars")!.Words(), StringComparison.Ordinal);
    }

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));

    private static string Named(IElement text) => (text.ClassList.Contains("name-wide") ? "wide: " : text.ClassList.Contains("name-tight") ? "tight: " : "") + text.Words();

    /// <summary>Pages of members and drops take months.</summary>
    private static bool Fits(string path, string range) => (path.EndsWith("/members", StringComparison.Ordinal) || path.EndsWith("/drops", StringComparison.Ordinal)) == range.StartsWith("?from=2026-06", StringComparison.Ordinal);

    /// <summary>
    /// Says in at least a dozen words what is counted. "By the same rule" is one beside days or months whose rule stands further up on the page, at the figure with the same file of other days.
    /// </summary>
    private static bool IsRule(string rule, List<IElement> links, HashSet<string> rules)
    {
        var kinds = links.ConvertAll(l => Kind().Replace(l.GetAttribute("href")!, m => m.Value.Contains("handler=", StringComparison.Ordinal) ? m.Value : ""));
        if (rule.Contains("by the same rule.", StringComparison.OrdinalIgnoreCase))
            return kinds.Exists(rules.Contains);
        rules.UnionWith(kinds);
        return rule.EndsWith('.') && rule.Split(' ').Length >= 12;
    }

    /// <summary>Each part of a query.</summary>
    [GeneratedRegex("[?&][^&]*")]
    private static partial Regex Kind();

    private static async Task<List<string>> FaultsAsync(HttpClient maker, IElement figure, Dictionary<string, string?> files, HashSet<string> rules)
    {
        var faults = new List<string>();
        if (figure.QuerySelector("svg") is null)
            faults.Add("no picture:");
        var caption = figure.QuerySelector("figcaption");
        var links = caption?.QuerySelectorAll("a").Where(a => a.Words().EndsWith(", CSV", StringComparison.Ordinal)).ToList() ?? [];
        var rule = links.Aggregate(caption?.Words() ?? "", (words, link) => words.Replace(link.Words(), "", StringComparison.Ordinal)).Trim();
        if (!IsRule(rule, links, rules))
            faults.Add($"no definition (“{rule}”):");
        if (links.Count == 0)
            faults.Add("no file:");
        foreach (var address in links.Select(l => l.GetAttribute("href")!))
            if (await TroubleOfAsync(maker, address, files) is { } trouble)
                faults.Add($"{address} {trouble}:");
        var tables = figure.QuerySelectorAll("table").Where(t => t.QuerySelector("svg") is null).ToList();
        if (tables.Count == 0 || tables.Exists(t => t.QuerySelector("tbody tr") is null))
            faults.Add("no table:");
        // Figures are looked for among figures, and what dates hold among what dates hold: the 15 of 15 April is no fifteen people.
        var all = tables.Concat(figure.QuerySelectorAll("table")).Select(Words).ToList();
        var (told, dated) = (all.SelectMany(t => FiguresOf(Dates().Replace(t, " "))).ToHashSet(), all.SelectMany(FiguresOf).ToHashSet());
        var drawn = figure.QuerySelectorAll("svg text, li, dd").Where(t => t.Closest(".axis, figcaption, details") is null).Select(Words).ToList();
        faults.AddRange(drawn.SelectMany(d => FiguresOf(Dates().Replace(d, " "))).Where(f => !told.Contains(f)).Distinct().Select(f => $"{f} is drawn and in no table:"));
        faults.AddRange(drawn.SelectMany(d => Dates().Matches(d).SelectMany(m => FiguresOf(m.Value))).Where(f => !dated.Contains(f)).Distinct().Select(f => $"{f} is drawn in a date that is in no table:"));
        return faults;
    }

    /// <summary>A file is asked for once, however many pages lead to it; null: it is one and has lines.</summary>
    private static async Task<string?> TroubleOfAsync(HttpClient maker, string address, Dictionary<string, string?> files)
    {
        if (files.TryGetValue(address, out var known))
            return known;
        using var answer = await maker.GetAsync(new Uri(address, UriKind.Relative));
        var lines = (await answer.Content.ReadAsStringAsync()).Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Length;
        return files[address] = (answer.StatusCode, answer.Content.Headers.ContentType?.MediaType) != (System.Net.HttpStatusCode.OK, "text/csv")
            ? $"answers {answer.StatusCode}, {answer.Content.Headers.ContentType}" : lines < 2 ? "has no line" : null;
    }

    private static string Words(IElement element) => string.Join(' ', element.Descendants<IText>().Select(t => t.Text).DefaultIfEmpty(""));

    /// <summary>Numbers as they are read: "1,200" is 1200, "£12.00" is 12, "2.1.0" a version.</summary>
    private static IEnumerable<string> FiguresOf(string words) => Figure().Matches(words)
        .Select(m => m.Value.Replace(",", "", StringComparison.Ordinal)).Select(f => f.EndsWith(".00", StringComparison.Ordinal) && f.Count(c => c == '.') == 1 ? f[..^3] : f);
}

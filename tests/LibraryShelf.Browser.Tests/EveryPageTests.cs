using System.Globalization;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// Every page, on a phone's width and a desk's, light and dark: axe-core 4.14.1 (npm, tests/peers) finds nothing against WCAG 2.2 A
/// and AA or its best practices; nothing is wider than the screen; the browser reports no blocked or missing file, and asks nobody but the shelf. What
/// is pressed is 44 px each way and focus is seen; on a phone, and on a desk of each kind of page one, with forced colours too, with reduced motion nothing moves, and on
/// paper all is dark on white (looks.js). What was served has no style attribute, and the Nu HTML checker (npm vnu-jar, its version in tests/peers) finds no error in it. Pictures of each are left in
/// artifacts/pages, to look at. Pages that open by a link which works once are seen open, refused and used; so is the page where a download waits (<see cref="DoorsThatClose"/>).
/// </summary>
public sealed class EveryPageTests(VisitedShelf visited) : IClassFixture<VisitedShelf>
{
    /// <summary>A line each, after the status it answers where that is not 200. Every page of the program is among them: the table of doors (Web.Tests) says so.</summary>
    private static readonly string[] Pages = File.ReadAllLines(Repository.File("tests/LibraryShelf.Browser.Tests/pages.txt"));

    /// <summary>Of each kind of page one, looked at on a desk in all the looks that every page is looked at in on a phone: a box, a form, and of the workbench a sheet, a table and a picture of figures. A full shelf and the joining slip are in other tests.</summary>
    private static readonly string[] InAllLooks =
        ["/", "/boxes/every-page-kettles", "/boxes/every-page-kettles/something-wrong", "/workbench/releases/1/sheet", "/workbench/jobs", "/workbench/numbers/versions?from=2026-04-01&to=2026-05-30&against=2026-02-20"];

    private readonly RunningShelf shelf = visited.Shelf;
    private readonly Sight sight = new();

    [Fact]
    public async Task Reads_well_aloud_fits_the_screen_and_blocks_nothing()
    {
        var doors = new DoorsThatClose(shelf, sight);
        var maker = await doors.ClaimAndRecoverAsync();
        await Walk.PublishAsync(maker, shelf, "Every Page Kettles", visited.Folder, "Free: everyone");
        await maker.GotoAsync(new Uri(shelf.Address, "/workbench/members").ToString());
        await maker.GetByLabel("Their e-mail address").FillAsync("wren@post.example");
        await maker.GetByRole(AriaRole.Button, new() { Name = "Give it" }).ClickAsync();
        // Pages of figures are looked at with their pictures.
        await ShelfRows.AddAsync(shelf, FiguresToShow.AddAsync);
        // And the box's with what can be heard of it.
        var box = new Uri(shelf.Address, "/boxes/every-page-kettles").ToString();
        await ListenedShelf.CanBeHeardAsync(maker, box);
        var state = await maker.Context.StorageStateAsync();
        // The two widths side by side: a page keeps one process busy.
        var wrong = await Task.WhenAll(WrongAsync(state, Sight.Desk), WrongAsync(state, Sight.Phone));
        Assert.True(wrong.All(w => w.Count == 0), string.Join('\n', wrong.SelectMany(w => w)));
        Assert.Empty(Pages.Select(p => Read(p).Path).Except(sight.Served.Keys, StringComparer.Ordinal));
        Assert.Empty(InAllLooks.Except(sight.Served.Keys, StringComparer.Ordinal));
        await doors.DownloadAsync(maker, box);
        await sight.HtmlIsWellAsync();
    }

    /// <summary>Or what is asked in the light alone would have to be asked in the dark too (<see cref="Sight"/>).</summary>
    [Fact]
    public void In_the_dark_only_colours_are_others()
    {
        const string dark = "(prefers-color-scheme: dark)";
        var sheets = Directory.GetFiles(Repository.File("src/LibraryShelf.Web/wwwroot/css"), "*.css").Select(File.ReadAllText).Where(css => css.Contains(dark, StringComparison.Ordinal));
        var rules = Assert.Single(Assert.Single(sheets).Split("@media screen and " + dark)[1..]);
        var colours = rules[..rules.IndexOf('}', StringComparison.Ordinal)];
        Assert.Matches(@"^ \{\s*:root \{\s*(--[a-z0-9-]+: #[0-9a-f]{6};\s*)+$", colours);
    }

    private async Task<List<string>> WrongAsync(string state, int width)
    {
        await using var context = await shelf.NewContextAsync(new() { StorageState = state, ViewportSize = new() { Width = width, Height = 900 }, ColorScheme = ColorScheme.Light });
        await Sight.ComeWithAsync(context);
        var page = await context.NewPageAsync();
        var (wrong, faults, refusal) = (new List<string>(), new List<string>(), "");
        page.Console += (_, message) => { if (message.Type == "error" && !(refusal.Length > 0 && message.Text.Contains(refusal, StringComparison.Ordinal))) faults.Add(message.Text); };
        page.Request += (_, request) => { if (new Uri(request.Url) is { Scheme: "http" or "https" } asked && asked.Authority != shelf.Address.Authority) faults.Add($"asked {request.Url}"); };
        foreach (var (path, status) in Pages.Select(Read))
        {
            refusal = status == 200 ? "" : $"status of {status} ";
            var answer = await page.GotoAsync(new Uri(shelf.Address, path).ToString());
            if (answer!.Status != status) faults.Add($"answered {answer.Status}");
            faults.AddRange(await sight.FaultsAsync(page, path, InAllLooks.Contains(path)));
            wrong.AddRange(faults.Select(fault => $"{path} at {width} px, {fault}"));
            faults.Clear();
        }
        return wrong;
    }

    private static (string Path, int Status) Read(string line) =>
        line[0] == '/' ? (line, 200) : (line[4..], int.Parse(line.AsSpan(0, 3), CultureInfo.InvariantCulture));
}

using System.Diagnostics;
using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// The pages of figures over five years of 0.2, 2 and 20 million downloads, as a browser on the same machine gets them; how long rolling up takes, and how large
/// the database becomes. A short run leaves out the largest.
/// </summary>
internal static partial class NumbersBench
{
    private const int PageGoal = 200, RollGoal = 5, RecountGoal = 10, Fresh = 100_000, Looks = 15;

    /// <summary>All pages of figures, each as it opens, and those that take days over the whole five years too.</summary>
    private static readonly string[] Pages =
    [
        "/workbench/numbers", "/workbench/numbers/downloads", "/workbench/numbers/downloads?from=2000-01-01", "/workbench/numbers/libraries", "/workbench/numbers/libraries?from=2000-01-01",
        "/workbench/numbers/versions", "/workbench/numbers/versions?from=2000-01-01", "/workbench/numbers/members", "/workbench/numbers/drops",
    ];

    public static async Task RunAsync(Bench bench)
    {
        foreach (var downloads in bench.IsShort ? [20_000, 200_000] : new[] { 200_000, 2_000_000, 20_000_000 })
            await OfAsync(bench, downloads);
    }

    private static async Task OfAsync(Bench bench, int downloads)
    {
        var name = downloads.ToString("N0", System.Globalization.CultureInfo.InvariantCulture);
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder($"numbers-{downloads}"));
        var made = await TimeAsync(shelf, db => new ManyDownloads(db, downloads).MakeAsync());
        var rolled = await RollAsync(shelf);
        Bench.Say($"{name} downloads made in {made:0} s, everything rolled up from nothing in {rolled:0} s, database {new FileInfo(shelf.Paths.Database).Length / 1e6:0} MB");
        await PagesAsync(bench, shelf, name);
        if (downloads < 2_000_000 && !bench.IsShort)
            return;
        await FreshAsync(bench, shelf, name);
        await RecountAsync(bench, shelf, name);
    }

    private static async Task<double> TimeAsync(Shelf shelf, Func<ShelfDb, Task> work)
    {
        await using var db = shelf.Open();
        db.Database.SetCommandTimeout(TimeSpan.FromHours(1));
        var begun = Stopwatch.GetTimestamp();
        await work(db);
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }

    private static async Task<double> RollAsync(Shelf shelf)
    {
        var clock = TimeProvider.System;
        var parts = new (string Name, Func<ShelfDb, Task> Work)[]
        {
            ("days", async db => await new RollUpDays(db, clock).RunAsync(CancellationToken.None)), ("months", async db => await new RollUpMonths(db, clock).RunAsync(CancellationToken.None)),
            ("drops", async db => await new RollUpDrops(db, clock).RunAsync(CancellationToken.None)),
            ("versions", async db => { while (!await new RollUpVersions(db, clock).RunAsync(CancellationToken.None)) { } }),
        };
        var sum = 0.0;
        foreach (var (name, work) in parts)
        {
            var seconds = await TimeAsync(shelf, work);
            Bench.Say($"{name} {seconds:0.0} s");
            sum += seconds;
        }
        return sum;
    }

    private static async Task PagesAsync(Bench bench, Shelf shelf, string name)
    {
        await using var server = await shelf.StartAsync(bench);
        using var browser = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = new CookieContainer() }) { BaseAddress = shelf.Address };
        await SignInAsync(browser);
        var slowest = ("", 0.0);
        foreach (var page in Pages)
        {
            var seconds = new List<double>();
            for (var look = 0; look < Looks + 3; look++)
            {
                var begun = Stopwatch.GetTimestamp();
                (await browser.GetAsync(new Uri(page, UriKind.Relative))).EnsureSuccessStatusCode();
                // The first looks are for the compiler.
                if (look >= 3)
                    seconds.Add(Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
            }
            var median = Bench.Median(seconds);
            Bench.Say($"{page} {median:0} ms, the slowest of {Looks} {seconds.Max():0} ms");
            if (median > slowest.Item2)
                slowest = (page, median);
        }
        bench.Add($"the slowest page of figures, {name} downloads ({slowest.Item1})", slowest.Item2, "ms", $"< {PageGoal}", slowest.Item2 < PageGoal);
    }

    /// <summary>100,000 new events of as many new downloads, on one day as on a drop's: counted, and everything they change rolled up.</summary>
    private static async Task FreshAsync(Bench bench, Shelf shelf, string name)
    {
        var at = TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds() - 60_000;
        await TimeAsync(shelf, async db =>
        {
            var last = await db.DownloadEvents.MaxAsync(e => e.Id);
            var numbers = $"WITH RECURSIVE n(i) AS (SELECT CAST(1 AS BIGINT) UNION ALL SELECT i + 1 FROM n WHERE i < {Fresh})";
#pragma warning disable EF1003 // Numbers of the benchmark's own.
            await db.Database.ExecuteSqlRawAsync(numbers + $"""
                 INSERT INTO "Downloads" ("Id", "ArchiveId", "ReleaseId", "LibraryId", "PersonId", "IsRobot", "Why", "MadeAt", "StartBy", "FinishBy", "StartedAt")
                SELECT 'f' || i, 1 + i % 240, 1 + i % 240, 1 + i % 240 / 4, 2 + i % {ManyDownloads.People}, 1 = 0, 'Member', {at}, {at}, {at}, {at} FROM n
                """);
            await db.Database.ExecuteSqlRawAsync(numbers + $"""
                 INSERT INTO "DownloadEvents" ("Id", "DownloadId", "From", "To", "At", "IsEvidence", "BeginsAnswer") SELECT {last} + i, 'f' || i, 0, 1700000000, {at}, 1 = 0, 1 = 1 FROM n
                """);
#pragma warning restore EF1003
        });
        var counted = await TimeAsync(shelf, db => new CountDownloads(db).RunAsync(CancellationToken.None));
        var rolled = await TimeAsync(shelf, db => new RollUpDays(db, TimeProvider.System).RunAsync(CancellationToken.None));
        Bench.Say($"{Fresh:N0} new events counted in {counted:0.0} s, their day rolled up in {rolled:0.0} s");
        bench.Add($"rolling up {Fresh:N0} events beside {name} downloads", rolled, "s", $"< {RollGoal}", rolled < RollGoal);
    }

    /// <summary>All events that are kept, from nothing.</summary>
    private static async Task RecountAsync(Bench bench, Shelf shelf, string name)
    {
        await TimeAsync(shelf, db => db.DownloadTallies.Where(t => t.LastEventId > 0).ExecuteDeleteAsync());
        var events = 0;
        var seconds = await TimeAsync(shelf, async db => events = await new CountDownloads(db).RunAsync(CancellationToken.None)) + await TimeAsync(shelf, db => new RollUpDays(db, TimeProvider.System).RunAsync(CancellationToken.None));
        Bench.Say($"{events:N0} events counted again in {seconds:0} s");
        bench.Add($"counting all events kept of {name} downloads again", seconds / 60, "min", $"< {RecountGoal}", seconds / 60 < RecountGoal);
    }

    private static async Task SignInAsync(HttpClient browser)
    {
        var html = await browser.GetStringAsync(new Uri("/workbench/sign-in", UriKind.Relative));
        using var content = new FormUrlEncodedContent(new Dictionary<string, string>
        {
            ["Email"] = Shelf.MakerEmail, ["Password"] = Shelf.Password, ["__RequestVerificationToken"] = WebUtility.HtmlDecode(Antiforgery().Match(html).Groups[1].Value),
        });
        using var answer = await browser.PostAsync(new Uri("/workbench/sign-in", UriKind.Relative), content);
        if (answer.StatusCode != HttpStatusCode.Redirect && answer.StatusCode != HttpStatusCode.SeeOther)
            throw new InvalidOperationException($"Signing in answered {(int)answer.StatusCode}.");
    }

    [GeneratedRegex("""name="__RequestVerificationToken"[^>]*value="([^"]+)""", RegexOptions.NonBacktracking)]
    private static partial Regex Antiforgery();
}

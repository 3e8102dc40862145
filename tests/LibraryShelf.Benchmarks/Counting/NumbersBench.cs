using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// The pages of figures over five years of 0.2 and 2 million downloads, or of as many as are asked for (20 million take an hour and some 15 GB), as a browser on
/// the same machine gets them; how long rolling up takes, and how large the database becomes. On PostgreSQL where the environment names one, as for tests.
/// </summary>
internal static partial class NumbersBench
{
    private const int PageGoal = 200, RollGoal = 5, RecountGoal = 10, Fresh = 100_000, Looks = 15;

    /// <summary>All pages of figures, each as it opens, and those that take days or months over the whole five years too, and over one box.</summary>
    private static readonly string[] Pages =
    [
        "/workbench/numbers", "/workbench/numbers/downloads", "/workbench/numbers/downloads?from=2000-01-01", "/workbench/numbers/downloads?from=2000-01-01&library=box-4",
        "/workbench/numbers/downloads?from={1}&to={2}&against={3}", "/workbench/numbers/libraries", "/workbench/numbers/libraries?from=2000-01-01", "/workbench/numbers/versions",
        "/workbench/numbers/versions?from=2000-01-01&all=true", "/workbench/numbers/members", "/workbench/numbers/members?from=2000-01", "/workbench/numbers/drops",
        "/workbench/numbers/versions/box-4/letter",
    ];

    private static readonly string? Server = Environment.GetEnvironmentVariable("SHELF_TEST_DATABASE") == "postgres" ? Environment.GetEnvironmentVariable("SHELF_TEST_POSTGRES") : null;

    public static async Task RunAsync(Bench bench)
    {
        var growth = new Growth();
        foreach (var downloads in bench.Sizes.Count > 0 ? bench.Sizes : bench.IsShort ? [20_000, 200_000] : [200_000, 2_000_000])
            await OfAsync(bench, downloads, growth);
        growth.Print();
    }

    private static async Task OfAsync(Bench bench, int downloads, Growth growth)
    {
        var name = downloads.ToString("N0", CultureInfo.InvariantCulture);
        growth.Begin(name);
        var shelf = await MadeAsync(bench, downloads);
        growth.Add("everything rolled up from nothing", await RollAsync(shelf), "s");
        growth.Add("database", await shelf.BytesAsync() / 1e6, "MB");
        await PagesAsync(bench, shelf, name, growth);
        if (bench.IsShort && downloads < 200_000)
            return;
        await FreshAsync(bench, shelf, name, growth);
        await RecountAsync(bench, shelf, name, growth);
    }

    /// <summary>Of an earlier run, where its folder was kept: making twenty million takes longer than measuring.</summary>
    private static async Task<Shelf> MadeAsync(Bench bench, int downloads)
    {
        var folder = bench.NewFolder($"numbers-{downloads}{(Server is null ? "" : "-postgres")}");
        var connection = Server is null ? null : new NpgsqlConnectionStringBuilder(Server) { Database = $"numbers_{downloads}", CommandTimeout = 3600 }.ToString();
        var isMade = Path.Combine(folder, "is-made");
        if (File.Exists(isMade))
        {
            var again = new Shelf(folder, connection);
            await TimeAsync(again, Shelf.BringUpToDateAsync);
            return again;
        }
        if (Server is not null)
            await CreateAsync($"numbers_{downloads}");
        var shelf = await Shelf.ClaimedAsync(folder, connection);
        Bench.Say($"{downloads:N0} downloads made in {await TimeAsync(shelf, db => new ManyDownloads(db, downloads).MakeAsync()):0} s");
        await File.WriteAllTextAsync(isMade, "");
        return shelf;
    }

    /// <summary>Without a row, also where an earlier run was broken off.</summary>
    private static async Task CreateAsync(string database)
    {
        await using var connection = new NpgsqlConnection(Server);
        await connection.OpenAsync();
        foreach (var statement in new[] { $"DROP DATABASE IF EXISTS {database}", $"CREATE DATABASE {database} TEMPLATE template0" })
        {
#pragma warning disable CA2100 // A name of the benchmark's own.
            await using var command = new NpgsqlCommand(statement, connection);
#pragma warning restore CA2100
            await command.ExecuteNonQueryAsync();
        }
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

    private static async Task PagesAsync(Bench bench, Shelf shelf, string name, Growth growth)
    {
        await using var server = await shelf.StartAsync(bench);
        using var browser = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = new CookieContainer() }) { BaseAddress = shelf.Address };
        await SignInAsync(browser);
        var slowest = ("", 0.0);
        foreach (var page in Pages)
        {
            var address = new Uri(string.Format(CultureInfo.InvariantCulture, page, "", Day(-1000), Day(-30), Day(-1800)), UriKind.Relative);
            var seconds = new List<double>();
            for (var look = 0; look < Looks + 3; look++)
            {
                var begun = Stopwatch.GetTimestamp();
                using var answer = await browser.GetAsync(address);
                if (answer.StatusCode != HttpStatusCode.OK)
                    throw new InvalidOperationException($"{address} answered {(int)answer.StatusCode}.");
                // The first looks are for the compiler.
                if (look >= 3)
                    seconds.Add(Stopwatch.GetElapsedTime(begun).TotalMilliseconds);
            }
            var median = Bench.Median(seconds);
            growth.Add(page, median, "ms");
            Bench.Say($"{page} {median:0} ms, the slowest of {Looks} {seconds.Max():0} ms");
            if (median > slowest.Item2)
                slowest = (page, median);
        }
        bench.Add($"the slowest page of figures, {name} downloads ({slowest.Item1})", slowest.Item2, "ms", $"< {PageGoal}", slowest.Item2 < PageGoal);
    }

    private static string Day(int days) => TimeProvider.System.GetUtcNow().AddDays(days).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>100,000 new events of as many new downloads, within an hour as on a drop's day: counted, and the days and months they change rolled up, as the job does.</summary>
    private static async Task FreshAsync(Bench bench, Shelf shelf, string name, Growth growth)
    {
        var at = TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds() - 3_600_000;
        await TimeAsync(shelf, async db =>
        {
            var last = await db.DownloadEvents.MaxAsync(e => e.Id);
            var numbers = $"WITH RECURSIVE n(i) AS (SELECT CAST(1 AS BIGINT) UNION ALL SELECT i + 1 FROM n WHERE i < {Fresh}), h(i, id, at) AS (SELECT i, 'f' || (i * 2654435761 % 4294967296) || '-{at}', {at} + i * 3600000 / {Fresh} FROM n)";
#pragma warning disable EF1003 // Numbers of the benchmark's own.
            await db.Database.ExecuteSqlRawAsync(numbers + $"""
                 INSERT INTO "Downloads" ("Id", "ArchiveId", "ReleaseId", "LibraryId", "PersonId", "IsRobot", "Why", "MadeAt", "StartBy", "FinishBy", "StartedAt")
                SELECT id, 1 + i % 240, 1 + i % 240, 1 + i % 240 / 4, 2 + i % {ManyDownloads.People}, 1 = 0, 'Member', at, at, at, at FROM h
                """);
            await db.Database.ExecuteSqlRawAsync(numbers + $"""
                 INSERT INTO "DownloadEvents" ("Id", "DownloadId", "From", "To", "At", "IsEvidence", "BeginsAnswer") SELECT {last} + i, id, 0, 1700000000, at, 1 = 0, 1 = 1 FROM h
                """);
#pragma warning restore EF1003
        });
        var counted = await TimeAsync(shelf, db => new CountDownloads(db).RunAsync(CancellationToken.None));
        var rolled = await TimeAsync(shelf, db => new RollUpDays(db, TimeProvider.System).RunAsync(CancellationToken.None));
        var people = await TimeAsync(shelf, db => new RollUpMonths(db, TimeProvider.System) { Pause = TimeSpan.Zero }.RunAsync(CancellationToken.None));
        growth.Add($"{Fresh:N0} events counted", counted, "s");
        growth.Add("their day rolled up", rolled, "s");
        growth.Add("their month's people counted", people, "s");
        bench.Add($"counting and rolling up {Fresh:N0} events beside {name} downloads", counted + rolled, "s", $"< {RollGoal}", counted + rolled < RollGoal);
    }

    /// <summary>All events that are kept, from nothing.</summary>
    private static async Task RecountAsync(Bench bench, Shelf shelf, string name, Growth growth)
    {
        growth.Add("tallies of all events kept deleted", await TimeAsync(shelf, db => db.DownloadTallies.Where(t => t.LastEventId > 0).ExecuteDeleteAsync()), "s");
        var events = 0;
        var seconds = await TimeAsync(shelf, async db => events = await new CountDownloads(db).RunAsync(CancellationToken.None)) + await TimeAsync(shelf, db => new RollUpDays(db, TimeProvider.System).RunAsync(CancellationToken.None));
        growth.Add("events kept", events / 1e3, "k");
        growth.Add("all of them counted again and their days rolled up", seconds, "s");
        bench.Add($"counting all {events:N0} events kept of {name} downloads again", seconds / 60, "min", $"< {RecountGoal}", seconds / 60 < RecountGoal);
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

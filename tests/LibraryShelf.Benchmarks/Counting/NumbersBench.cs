using System.Diagnostics;
using System.Globalization;
using System.Net;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>
/// The pages of figures over five years of 0.2 and 2 million downloads, or of as many as are asked for (20 million take an hour on SQLite, and 8 GB), as a browser on
/// the same machine gets them; how long rolling up takes, and how large the database becomes. On PostgreSQL where the environment names one, as for tests.
/// </summary>
internal static class NumbersBench
{
    private const int PageGoal = 200, RollGoal = 5, RecountGoal = 10, Fresh = 100_000, Looks = 15, Newest = ManyDownloads.Versions - 1;
    private const long LargeLength = 1_700_000_000;

    /// <summary>All pages of figures, each as it opens, and those that take days or months over the whole five years too, over one box, and over two ranges; and the list of downloads.</summary>
    private static readonly string[] Pages =
    [
        "/workbench/numbers", "/workbench/numbers/downloads", "/workbench/numbers/downloads?from=2000-01-01", "/workbench/numbers/downloads?from=2000-01-01&library=box-4",
        "/workbench/numbers/downloads?from={1}&to={2}&against={3}", "/workbench/numbers/libraries", "/workbench/numbers/libraries?from=2000-01-01",
        // Two ranges of days of which hosts and searches are kept, too: they are not for longer than thirteen months.
        "/workbench/numbers/libraries?from={1}&to={2}&against={3}", "/workbench/numbers/libraries?from={8}&against={9}", "/workbench/numbers/versions", "/workbench/numbers/versions?from=2000-01-01&all=true",
        "/workbench/numbers/versions?from={1}&to={2}&against={3}", "/workbench/numbers/members", "/workbench/numbers/members?from=2000-01", "/workbench/numbers/members?from={4}&to={5}&against={6}",
        "/workbench/numbers/drops", "/workbench/numbers/drops?from=2000-01", "/workbench/numbers/drops?from={4}&to={5}&against={6}", "/workbench/numbers/versions/box-4/letter",
        "/workbench/downloads", "/workbench/downloads?library=box-4", "/workbench/downloads?person=77", "/workbench/downloads?from={7}.0",
    ];

    /// <summary>What is fetched as a file or by a program, over the whole five years.</summary>
    private static readonly string[] Files =
    [
        "/workbench/numbers/downloads?handler=Csv&from=2000-01-01", "/workbench/numbers/downloads?handler=SumsCsv&from=2000-01-01", "/workbench/numbers/downloads?handler=PeopleCsv&from=2000-01-01",
        "/workbench/numbers/downloads?handler=MonthsCsv&from=2000-01-01", "/workbench/numbers/libraries?handler=Csv&from=2000-01-01", "/workbench/numbers/versions?handler=Csv&from=2000-01-01",
        "/workbench/numbers/members?handler=Csv&from=2000-01", "/workbench/numbers/drops?handler=Csv&from=2000-01", "/api/numbers/downloads?from=2000-01-01", "/api/numbers/libraries?from=2000-01-01",
        "/api/numbers/versions?from=2000-01-01", "/api/numbers/members?from=2000-01", "/api/numbers/drops?from=2000-01",
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
        var shelf = await MadeAsync(bench, downloads, growth);
        // As a server does by itself in time; the tests' one does not. Without it, pages read the tables beside their indexes, which takes up to twenty times as long.
        if (Server is not null)
            await TimeAsync(shelf, db => db.Database.ExecuteSqlRawAsync("VACUUM ANALYZE"));
        growth.Add("database", await shelf.BytesAsync() / 1e6, "MB");
        if (bench.Measures("pages"))
            await PagesAsync(bench, shelf, name, growth);
        if (bench.IsShort && downloads < 200_000)
            return;
        if (bench.Measures("fresh"))
            await FreshAsync(bench, shelf, name, growth);
        if (bench.Measures("recount"))
            await RecountAsync(bench, shelf, name, growth);
    }

    /// <summary>
    /// Of an earlier run, where its folder was kept: making and rolling up twenty million takes longer than measuring. How long it took then stands beside it, in
    /// seconds; what was broken off is made anew, or rolled up to its end.
    /// </summary>
    private static async Task<Shelf> MadeAsync(Bench bench, int downloads, Growth growth)
    {
        var folder = bench.NewFolder($"numbers-{downloads}{(Server is null ? "" : "-postgres")}");
        var connection = Server is null ? null : new NpgsqlConnectionStringBuilder(Server) { Database = $"numbers_{downloads}", CommandTimeout = 3600 }.ToString();
        var (made, rolled) = (Path.Combine(folder, "is-made"), Path.Combine(folder, "is-rolled-up"));
        Shelf shelf;
        if (File.Exists(made))
        {
            shelf = new Shelf(folder, connection);
            await TimeAsync(shelf, Shelf.BringUpToDateAsync);
            await TimeAsync(shelf, TakeFreshAwayAsync);
        }
        else
        {
            if (Server is not null)
                await CreateAsync($"numbers_{downloads}");
            shelf = await Shelf.ClaimedAsync(folder, connection);
            await WriteAsync(made, await TimeAsync(shelf, db => new ManyDownloads(db, downloads).MakeAsync()));
        }
        await TimeAsync(shelf, db => new ManyMembers(db).MakeAsync());
        growth.Add("made", await SecondsAsync(made), "s");
        var seconds = await RollAsync(shelf);
        if (!File.Exists(rolled))
            await WriteAsync(rolled, seconds);
        growth.Add("all of it rolled up, when it was made", await SecondsAsync(rolled), "s");
        return shelf;

        static Task WriteAsync(string file, double seconds) => File.WriteAllTextAsync(file, seconds.ToString("0.0", CultureInfo.InvariantCulture));

        static async Task<double> SecondsAsync(string file) => double.Parse(await File.ReadAllTextAsync(file), CultureInfo.InvariantCulture);
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

    /// <summary>With the processor time that this program took meanwhile: on SQLite all of it, on PostgreSQL without the server's.</summary>
    private static async Task<(double Seconds, double OfAProcessor)> SpentAsync(Func<Task<double>> work)
    {
        using var me = Process.GetCurrentProcess();
        var before = me.TotalProcessorTime;
        var seconds = await work();
        me.Refresh();
        return (seconds, (me.TotalProcessorTime - before).TotalSeconds);
    }

    // The five steps of the job that counts (CountJob), in its order. None waits until some time has passed since it last ran.
    private static Task CountingAsync(ShelfDb db) => new CountDownloads(db).RunAsync(CancellationToken.None);

    private static Task DaysAsync(ShelfDb db) => new RollUpDays(db, TimeProvider.System) { Pause = TimeSpan.Zero }.RunAsync(CancellationToken.None);

    private static Task MonthsAsync(ShelfDb db) => new RollUpMonths(db, TimeProvider.System) { Pause = TimeSpan.Zero }.RunAsync(CancellationToken.None);

    private static Task DropsAsync(ShelfDb db) => new RollUpDrops(db, TimeProvider.System) { Pause = TimeSpan.Zero }.RunAsync(CancellationToken.None);

    /// <summary>In as many runs as it takes.</summary>
    private static async Task VersionsAsync(ShelfDb db)
    {
        while (!await new RollUpVersions(db, TimeProvider.System).RunAsync(CancellationToken.None)) { }
    }

    /// <summary>Nothing is left to count but where an earlier run was broken off meanwhile.</summary>
    private static async Task<double> RollAsync(Shelf shelf)
    {
        var sum = 0.0;
        foreach (var (name, work) in new (string, Func<ShelfDb, Task>)[] { ("counting", CountingAsync), ("days", DaysAsync), ("months", MonthsAsync), ("drops", DropsAsync), ("versions", VersionsAsync) })
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
        // What a start sets going is done first.
        await server.RestAsync();
        await LooksAsync(bench, browser, Pages, "page", name, growth);
        await LooksAsync(bench, browser, Files, "file", name, growth);
        growth.Add("load of the machine after these looks", Load(), "");
    }

    private static async Task LooksAsync(Bench bench, HttpClient browser, string[] addresses, string what, string name, Growth growth)
    {
        var slowest = ("", 0.0);
        foreach (var page in addresses)
        {
            var address = new Uri(string.Format(CultureInfo.InvariantCulture, page, "", Day(-1000), Day(-30), Day(-1800), Day(-700)[..7], Day(-60)[..7], Day(-1500)[..7],
                TimeProvider.System.GetUtcNow().AddDays(-900).ToUnixTimeMilliseconds(), Day(-180), Day(-390)), UriKind.Relative);
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
            growth.Add(page, median, "ms", seconds.Max());
            Bench.Say($"{page} {median:0} ms, the slowest of {Looks} {seconds.Max():0} ms");
            if (median > slowest.Item2)
                slowest = (page, median);
        }
        bench.Add($"the slowest {what} of figures, {name} downloads ({slowest.Item1})", slowest.Item2, "ms", $"< {PageGoal}", slowest.Item2 < PageGoal);
    }

    /// <summary>How many programs ran or waited to, on average over the last minute (/proc/loadavg): beside it stands how many processors there are.</summary>
    private static double Load() => double.Parse(File.ReadAllText("/proc/loadavg").Split(' ')[0], CultureInfo.InvariantCulture);

    private static string Day(int days) => TimeProvider.System.GetUtcNow().AddDays(days).ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);

    /// <summary>
    /// 100,000 new events within an hour as on a drop's day, counted and rolled up by all five steps of the job: of as many small downloads by everybody on the shelf, and of 980
    /// downloads of a library of 1.7 GB. The goal is of what the pages of downloads show: counted, days and months. Drops, and who is on which version, stand beside it.
    /// </summary>
    private static async Task FreshAsync(Bench bench, Shelf shelf, string name, Growth growth)
    {
        // The first are for the compiler, as the first looks at a page are: a shelf that has counted since it was started has compiled all of it well.
        foreach (var warmUp in new[] { 1_000, 20_000 })
        {
            await MakeFreshAsync(shelf, new("the first", warmUp, 1, 0, 0, ManyDownloads.ArchiveOf(0, 0), ManyDownloads.LengthOf(0)));
            await RollAsync(shelf);
        }
        var box = await BoxAsync(shelf);
        var small = new Fetched("small downloads", Fresh, 1, box, Newest, ManyDownloads.ArchiveOf(box, Newest), ManyDownloads.LengthOf(box));
        foreach (var fetched in new[] { small, new("large downloads", 980, 102, 0, 0, await LargeAsync(shelf), LargeLength) })
        {
            await MakeFreshAsync(shelf, fetched);
            var (what, events, load) = (fetched.What, fetched.Downloads * fetched.Stretches, Load());
            var (counted, ofAProcessor) = await SpentAsync(() => TimeAsync(shelf, CountingAsync));
            var (days, months, drops) = (await TimeAsync(shelf, DaysAsync), await TimeAsync(shelf, MonthsAsync), await TimeAsync(shelf, DropsAsync));
            var people = await CountAsync(shelf, db => db.VersionMarks.CountAsync());
            var versions = await TimeAsync(shelf, VersionsAsync);
            growth.Add($"load of the machine before these are counted ({what})", load, "");
            growth.Add($"{events:N0} events of {fetched.Downloads:N0} {what} counted", counted, "s");
            growth.Add($"of this program's processor time for that ({what})", ofAProcessor, "s");
            growth.Add($"their day rolled up ({what})", days, "s");
            growth.Add($"their month's people counted ({what})", months, "s");
            growth.Add($"the drop of their box rolled up ({what})", drops, "s");
            growth.Add($"people who fetched them ({what})", people, "");
            growth.Add($"which versions these have worked out ({what})", versions, "s");
            growth.Add($"of these people a second ({what})", people / versions, "");
            growth.Add($"load of the machine after that ({what})", Load(), "");
            var shown = counted + days + months;
            bench.Add($"counting and rolling up days and months of {events:N0} events of {what} beside {name} downloads", shown, "s", $"< {RollGoal}", shown < RollGoal);
        }
    }

    /// <param name="What">In words.</param>
    /// <param name="Downloads">By as many people, or by everybody in turns.</param>
    /// <param name="Stretches">Events of each download.</param>
    /// <param name="Box">Which box.</param>
    /// <param name="Version">Of it.</param>
    /// <param name="Archive">Which of the version's.</param>
    /// <param name="Length">Of the archive, in bytes.</param>
    private sealed record Fetched(string What, int Downloads, int Stretches, int Box, int Version, long Archive, long Length);

    /// <summary>A free box whose newest version not everybody has yet: what an earlier run had everybody fetch on a kept shelf would change nobody's version again.</summary>
    private static async Task<int> BoxAsync(Shelf shelf)
    {
        for (var box = 0; box < ManyDownloads.Boxes; box += 3)
            if (await CountAsync(shelf, db => db.PersonVersions.CountAsync(v => v.LibraryId == ManyDownloads.LibraryOf(box) && v.NextReleaseId == 0 && v.ReleaseId == ManyDownloads.ReleaseOf(box, Newest))) < ManyDownloads.People)
                return box;
        throw new InvalidOperationException("Everybody has the newest version of every free box: make the shelf anew.");
    }

    private static async Task<long> LargeAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        var large = await db.Archives.FirstOrDefaultAsync(a => a.RecipeSha256 == "large");
        if (large is null)
            db.Archives.Add(large = new Archive { ReleaseId = 1, RecipeSha256 = "large", Length = LargeLength, FileName = "large.zip", CreatedAt = TimeProvider.System.GetUtcNow() });
        await db.SaveChangesAsync();
        return large.Id;
    }

    /// <summary>What an earlier run counted on a kept shelf, or else the day would be longer with every run, and its roll-up slower.</summary>
    private static Task TakeFreshAwayAsync(ShelfDb db) => db.Database.ExecuteSqlRawAsync("""
        DELETE FROM "DownloadTallies" WHERE "DownloadId" >= 'f' AND "DownloadId" < 'g';
        DELETE FROM "Downloads" WHERE "Id" >= 'f' AND "Id" < 'g';
        DELETE FROM "DownloadEvents" WHERE "Id" > (SELECT max("LastEventId") FROM "DownloadTallies");
        UPDATE "DayRolls" SET "Changed" = "Changed" + 1 WHERE "Day" >= (SELECT max("Day") FROM "DayRolls" WHERE "Rolled" = "Changed");
        """);

    private static Task MakeFreshAsync(Shelf shelf, Fetched fetched)
    {
        var (downloads, stretches, length) = (fetched.Downloads, fetched.Stretches, fetched.Length);
        var at = TimeProvider.System.GetUtcNow().ToUnixTimeMilliseconds() - 3_600_000;
        return TimeAsync(shelf, async db =>
        {
            var last = await db.DownloadEvents.MaxAsync(e => e.Id);
            string Numbers(int most) => $"WITH RECURSIVE n(i) AS (SELECT CAST(0 AS BIGINT) UNION ALL SELECT i + 1 FROM n WHERE i + 1 < {most})";
            string Id(string i) => $"'f' || ({i} * 2654435761 % 4294967296) || '-{at}-{downloads}'";
#pragma warning disable EF1003 // Numbers of the benchmark's own.
            await db.Database.ExecuteSqlRawAsync(Numbers(downloads) + $"""
                 INSERT INTO "Downloads" ("Id", "ArchiveId", "ReleaseId", "LibraryId", "PersonId", "IsRobot", "Why", "MadeAt", "StartBy", "FinishBy", "StartedAt")
                SELECT {Id("i")}, {fetched.Archive}, {ManyDownloads.ReleaseOf(fetched.Box, fetched.Version)}, {ManyDownloads.LibraryOf(fetched.Box)}, 2 + i % {ManyDownloads.People}, 1 = 0, 'Free', at, at, at, at FROM (SELECT i, {at} + i * 3600000 / {downloads} AS at FROM n) AS x
                """);
            // All at once, in turns, as they come.
            await db.Database.ExecuteSqlRawAsync(Numbers(downloads * stretches) + $"""
                 INSERT INTO "DownloadEvents" ("Id", "DownloadId", "From", "To", "At", "IsEvidence", "BeginsAnswer")
                SELECT {last} + 1 + i, {Id($"(i % {downloads})")}, i / {downloads} * {ManyDownloads.Stretch},
                    CASE WHEN (i / {downloads} + 1) * {ManyDownloads.Stretch} < {length} THEN (i / {downloads} + 1) * {ManyDownloads.Stretch} ELSE {length} END,
                    {at} + i * 3600000 / {downloads * stretches}, 1 = 0, i < {downloads} FROM n
                """);
#pragma warning restore EF1003
        });
    }

    /// <summary>All events that are kept, from nothing. The tallies and days come out as they were, those that the database made by itself too.</summary>
    private static async Task RecountAsync(Bench bench, Shelf shelf, string name, Growth growth)
    {
        var before = await SumsAsync(shelf);
        growth.Add("tallies of these events deleted", await TimeAsync(shelf, async db =>
        {
            var first = await db.DownloadEvents.MinAsync(e => e.Id);
            // Where a download's first event is: none is counted in part.
            if (bench.Events is { } most && await db.DownloadEvents.OrderByDescending(e => e.Id).Skip(most).Select(e => (long?)e.Id).FirstOrDefaultAsync() is { } later)
                first = later / ManyDownloads.MostEvents * ManyDownloads.MostEvents + 1;
            await db.DownloadTallies.Where(t => t.LastEventId >= first).ExecuteDeleteAsync();
        }), "s");
        growth.Add("load of the machine before they are counted again", Load(), "");
        var events = 0;
        var (seconds, ofAProcessor) = await SpentAsync(() => TimeAsync(shelf, async db => events = await new CountDownloads(db).RunAsync(CancellationToken.None)));
        growth.Add(bench.Events is null ? "events kept" : "of the events kept, the last", events / 1e3, "k");
        growth.Add("all of them counted again", seconds, "s");
        growth.Add("of this program's processor time for that", ofAProcessor, "s");
        growth.Add("events counted again a second", events / seconds, "");
        growth.Add("their days rolled up", await TimeAsync(shelf, DaysAsync), "s");
        var minutes = bench.Events is null ? seconds / 60 : seconds / 60 / events * await CountAsync(shelf, db => db.DownloadEvents.CountAsync());
        bench.Add($"counting all events kept of {name} downloads again{(bench.Events is null ? "" : ", by what these took")}", minutes, "min", $"< {RecountGoal}", minutes < RecountGoal);
        var after = await SumsAsync(shelf);
        if (before != after)
            throw new InvalidOperationException($"Counted again it comes to {after}, and was {before}.");
    }

    private static async Task<int> CountAsync(Shelf shelf, Func<ShelfDb, Task<int>> question)
    {
        await using var db = shelf.Open();
        db.Database.SetCommandTimeout(TimeSpan.FromHours(1));
        return await question(db);
    }

    /// <summary>Of every column, over all tallies and all days.</summary>
    private static async Task<string> SumsAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        db.Database.SetCommandTimeout(TimeSpan.FromHours(1));
        var sums = await db.Database.SqlQuery<Sums>($"""
            SELECT count(*) AS "Rows", count("StartedAt") AS "Started", count("FinishedAt") AS "Finished", CAST(sum(CASE WHEN "IsAgain" THEN 1 ELSE 0 END) AS BIGINT) AS "Again",
                CAST(sum("Requests") AS BIGINT) AS "Requests", CAST(sum("Resumes") AS BIGINT) AS "Resumes", CAST(sum("BytesServed") AS BIGINT) AS "Bytes", CAST(sum("BytesCovered") AS BIGINT) AS "Covered",
                CAST(sum(length("Parts")) AS BIGINT) AS "Parts", CAST(sum("LastEventId" % 1000003) AS BIGINT) AS "Last", CAST(sum("StartedAt" % 1000003) AS BIGINT) AS "At", CAST(sum("FinishedAt" % 1000003) AS BIGINT) AS "EndedAt"
            FROM "DownloadTallies"
            """).SingleAsync();
        var days = await db.DayCounts.GroupBy(_ => 1).Select(g => new
        {
            Lines = g.Count(), Started = g.Sum(c => c.Started), Finished = g.Sum(c => c.Finished), Ended = g.Sum(c => c.Ended), Requests = g.Sum(c => c.Requests), Resumes = g.Sum(c => c.Resumes), Bytes = g.Sum(c => c.Bytes),
        }).SingleAsync();
        return $"{sums} {days}";
    }

    private sealed record Sums(long Rows, long Started, long Finished, long Again, long Requests, long Resumes, long Bytes, long Covered, long Parts, long Last, long At, long EndedAt);

    private static async Task SignInAsync(HttpClient browser)
    {
        using var press = new HttpRequestMessage(HttpMethod.Post, "/workbench/sign-in")
        {
            Content = new FormUrlEncodedContent(new Dictionary<string, string> { ["Email"] = Shelf.MakerEmail, ["Password"] = Shelf.Password }),
        };
        press.Headers.Add("Sec-Fetch-Site", "same-origin");
        using var answer = await browser.SendAsync(press);
        if (answer.StatusCode != HttpStatusCode.Redirect && answer.StatusCode != HttpStatusCode.SeeOther)
            throw new InvalidOperationException($"Signing in answered {(int)answer.StatusCode}.");
    }
}

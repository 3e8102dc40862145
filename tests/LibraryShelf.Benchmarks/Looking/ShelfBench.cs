using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Looking;

/// <summary>
/// The shelf with 500 libraries, or as many as are asked for: how much of it travels, and how long its page takes while 50 visitors a second come, whether or not the ones
/// before them have been answered (an open loop: a slow answer does not put off the next question).
/// </summary>
internal static partial class ShelfBench
{
    private const int PageKilobytes = 60, ScriptKilobytes = 40, FontKilobytes = 80, Goal = 20, PerSecond = 50;

    private static readonly string[] PublicPages = ["/", "/boxes/mended-kettle", "/boxes/mended-kettle/which-version", "/boxes/mended-kettle/follow", "/boxes/mended-kettle/something-wrong", "/join", "/sign-in", "/help", "/terms", "/privacy", "/licence", "/write"];

    public static async Task RunAsync(Bench bench)
    {
        var count = bench.Sizes.Count > 0 ? bench.Sizes[0] : 500;
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("shelf"));
        await using (var db = shelf.Open())
            await ManyBoxes.AddAsync(db, count, TimeProvider.System.GetUtcNow().AddHours(-1));
        var server = await shelf.StartAsync(bench);
        using var visitor = new HttpClient(new SocketsHttpHandler { MaxConnectionsPerServer = 200 }) { BaseAddress = shelf.Address, DefaultRequestHeaders = { { "Accept-Encoding", "br" } } };

        var page = (await visitor.GetByteArrayAsync(new Uri("/", UriKind.Relative))).Length / 1e3;
        bench.Add($"the page of a shelf with {count} boxes, compressed", page, "kB", $"≤ {PageKilobytes}", page <= PageKilobytes);
        await WeighFilesAsync(bench, visitor);
        await AskSteadilyAsync(bench, server, visitor, count, "/", "the shelf’s page");
        var changing = new ChangingShelf(shelf);
        await using (changing)
            await AskSteadilyAsync(bench, server, visitor, count, "/", "the same while something on it changes every two seconds", isGoal: false);
        await AskSteadilyAsync(bench, server, visitor, count, "/?find=copper", "a search, made each time", isGoal: false, perSecond: 5);
    }

    private static async Task WeighFilesAsync(Bench bench, HttpClient visitor)
    {
        using var plain = new HttpClient { BaseAddress = visitor.BaseAddress };
        var (heaviest, most) = ("", 0.0);
        foreach (var address in PublicPages)
        {
            using var answer = await plain.GetAsync(new Uri(address, UriKind.Relative));
            if (answer.StatusCode != HttpStatusCode.OK)
            {
                Bench.Say($"{address} answered {(int)answer.StatusCode} and was left out");
                continue;
            }
            var scripts = 0.0;
            foreach (Match script in Script().Matches(await answer.Content.ReadAsStringAsync()))
                scripts += (await visitor.GetByteArrayAsync(new Uri(WebUtility.HtmlDecode(script.Groups[1].Value), UriKind.Relative))).Length / 1e3;
            Bench.Say(string.Create(CultureInfo.InvariantCulture, $"{address}: {scripts:0.0} kB of script"));
            if (scripts >= most)
                (heaviest, most) = (address, scripts);
        }
        bench.Add($"script of any public page, compressed ({heaviest})", most, "kB", $"≤ {ScriptKilobytes}", most <= ScriptKilobytes);
        var fonts = 0.0;
        foreach (Match font in Font().Matches(await plain.GetStringAsync(new Uri("/css/shelf.css", UriKind.Relative))))
            fonts += (await plain.GetByteArrayAsync(new Uri(font.Groups[1].Value, UriKind.Relative))).Length / 1e3;
        bench.Add("all fonts together", fonts, "kB", $"≤ {FontKilobytes}", fonts <= FontKilobytes);
    }

    private static async Task AskSteadilyAsync(Bench bench, ProgramUnderTest server, HttpClient visitor, int count, string address, string what, bool isGoal = true, int perSecond = PerSecond)
    {
        // The first are for the compiler.
        for (var i = 0; i < 50; i++)
            await visitor.GetByteArrayAsync(new Uri(address, UriKind.Relative));
        var seconds = bench.IsShort ? 3 : 20;
        var times = new ConcurrentBag<double>();
        var asked = new List<Task>();
        var (begun, worked) = (Stopwatch.GetTimestamp(), server.CpuSeconds());
        for (var i = 0; i < perSecond * seconds; i++)
        {
            var due = TimeSpan.FromSeconds((double)i / perSecond);
            if (due - Stopwatch.GetElapsedTime(begun) is { Ticks: > 0 } wait)
                await Task.Delay(wait);
            asked.Add(Task.Run(async () =>
            {
                var from = Stopwatch.GetTimestamp();
                await visitor.GetByteArrayAsync(new Uri(address, UriKind.Relative));
                times.Add(Stopwatch.GetElapsedTime(from).TotalMilliseconds);
            }));
        }
        await Task.WhenAll(asked);
        var sorted = times.Order().ToList();
        var (middle, slow) = (Bench.Median(sorted), sorted[(int)(0.99 * (sorted.Count - 1))]);
        Bench.Say(string.Create(CultureInfo.InvariantCulture, $"{what}, {count} boxes, {sorted.Count} times at {perSecond} a second: median {middle:0.0} ms, 99th percentile {slow:0.0} ms, slowest {sorted[^1]:0.0} ms; {1000 * (server.CpuSeconds() - worked) / sorted.Count:0.0} ms of processor each"));
        if (isGoal)
            bench.Add($"{what} at {PerSecond} a second, 99th percentile", slow, "ms", $"< {Goal}", slow < Goal);
    }

    /// <summary>A maker who edits one library after the other.</summary>
    private sealed class ChangingShelf : IAsyncDisposable
    {
        private readonly CancellationTokenSource _end = new();
        private readonly Task _work;

        public ChangingShelf(Shelf shelf) => _work = Task.Run(async () =>
        {
            using var timer = new PeriodicTimer(TimeSpan.FromSeconds(2));
            try
            {
                while (await timer.WaitForNextTickAsync(_end.Token))
                {
                    await using var db = shelf.Open();
                    var library = db.Libraries.OrderBy(l => l.Revision).ThenBy(l => l.Id).First();
                    library.Revision++;
                    await db.SaveChangesAsync();
                }
            }
            catch (OperationCanceledException)
            {
                // The end.
            }
        });

        public async ValueTask DisposeAsync()
        {
            await _end.CancelAsync();
            await _work;
            _end.Dispose();
        }
    }

    [GeneratedRegex("""<script[^>]* src="([^"]+)""", RegexOptions.NonBacktracking)]
    private static partial Regex Script();

    [GeneratedRegex("""url\("([^"]+\.woff2)"\)""", RegexOptions.NonBacktracking)]
    private static partial Regex Font();
}

using System.Diagnostics;
using System.Globalization;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>
/// An update through the site that nobody asked for before: its link, with the recipe made for it, and its first byte, beside those of the whole
/// library of the same version; and its size beside the bytes that were changed or renamed.
/// </summary>
internal static class UpdateBench
{
    private const double MostSeconds = 0.05, MostShare = 1.01;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("update"));
        var box = new VersionedBox(shelf);
        await box.StockAsync(bench.Rounds + 2);
        await shelf.StartAsync(bench);
        var latest = box.Releases[^1];
        // The first of each kind warms the program, not the update that is measured.
        await FetchAsync(shelf.Address, latest, null);
        await FetchAsync(shelf.Address, latest, box.Releases[^2]);

        var shares = new List<double>();
        var (made, whole) = (new List<double>(), new List<double>());
        var seconds = await bench.InTurnsAsync(
            async round =>
            {
                var (press, first, length) = await FetchAsync(shelf.Address, latest, box.Releases[round]);
                shares.Add((double)length / box.Changed(round));
                made.Add(press);
                return first;
            },
            async _ =>
            {
                var (press, first, _) = await FetchAsync(shelf.Address, latest, null);
                whole.Add(press);
                return first;
            });
        Bench.Say(string.Create(CultureInfo.InvariantCulture, $"first byte after {seconds[0] * 1000:0.0} ms, of the whole library {seconds[1] * 1000:0.0} ms"));
        Bench.Say(string.Create(CultureInfo.InvariantCulture, $"link made, with the recipe that nobody asked for before, in {Bench.Median(made) * 1000:0.0} ms, for the whole library in {Bench.Median(whole) * 1000:0.0} ms"));
        bench.Add("an update's first byte", seconds[0] * 1000, "ms", "< 50", seconds[0] < MostSeconds);
        bench.Add("its size, beside the changed and renamed bytes", shares.Max(), "x", "≤ 1.01", shares.Max() <= MostShare);
    }

    /// <summary>Seconds until the link was made, and from there to the first byte; and the archive's length.</summary>
    private static async Task<(double Press, double First, long Length)> FetchAsync(Uri address, long release, long? from)
    {
        using var http = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = address };
        // The page with the button, as a browser has it before, which says with the form where it came from.
        var page = new Uri($"/boxes/{VersionedBox.Slug}", UriKind.Relative);
        await http.GetStringAsync(page);
        http.DefaultRequestHeaders.Add("Sec-Fetch-Site", "same-origin");
        var fields = new Dictionary<string, string> { ["release"] = release.ToString(CultureInfo.InvariantCulture) };
        if (from is not null)
            fields["from"] = from.Value.ToString(CultureInfo.InvariantCulture);
        using var form = new FormUrlEncodedContent(fields);
        var begun = Stopwatch.GetTimestamp();
        using var pressed = await http.PostAsync(page, form);
        var press = Stopwatch.GetElapsedTime(begun).TotalSeconds;
        var link = pressed.Headers.Location ?? throw new InvalidOperationException($"No link was made: {(int)pressed.StatusCode} {await pressed.Content.ReadAsStringAsync()}");
        begun = Stopwatch.GetTimestamp();
        using var answer = await http.GetAsync(link, HttpCompletionOption.ResponseHeadersRead);
        answer.EnsureSuccessStatusCode();
        await using var body = await answer.Content.ReadAsStreamAsync();
        await body.ReadExactlyAsync(new byte[1]);
        return (press, Stopwatch.GetElapsedTime(begun).TotalSeconds, answer.Content.Headers.ContentLength!.Value);
    }
}

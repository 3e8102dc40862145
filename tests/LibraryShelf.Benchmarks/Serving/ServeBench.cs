using System.Diagnostics;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>A signed archive, events counted, against nginx with the same bytes as one plain file.</summary>
internal static class ServeBench
{
    private const int Connections = 64, RangeBytes = 64 * 1024, RangesEach = 200;

    /// <summary>
    /// Streams before the clock runs: a server that has been up for a while has its code compiled, which takes the runtime some of them, as
    /// thirty calls of a method do, a fraction of a second each.
    /// </summary>
    private const int WarmStreams = 6;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("serve"));
        var nginx = new Nginx(bench.NewFolder("nginx"));
        var box = new StockedBox(shelf);
        await box.StockAsync(bench.LibraryBytes, Path.Combine(nginx.Files, "box.zip"));
        await shelf.StartAsync(bench);
        await nginx.StartAsync(bench);
        // A link is good for some downloads only, so each round has its own.
        var links = await box.LinksAsync((2 * bench.Rounds) + 2);

        for (var warm = 0; warm < WarmStreams; warm++)
        {
            await StreamAsync(shelf.Address, links[^1]);
            await StreamAsync(nginx.Address, "/box.zip");
        }
        var stream = await bench.InTurnsAsync(
            round => StreamAsync(shelf.Address, links[round]), _ => StreamAsync(nginx.Address, "/box.zip"));
        Bench.Say($"one stream: shelf {box.Length / stream[0] / 1e6:0} MB/s, nginx {box.Length / stream[1] / 1e6:0} MB/s");
        bench.Add("one stream, shelf ÷ nginx", stream[1] / stream[0], "×", "≥ 0.8", stream[1] / stream[0] >= 0.8);

        await RangesAsync(shelf.Address, links[^2], box.Length);
        await RangesAsync(nginx.Address, "/box.zip", box.Length);
        var ranges = await bench.InTurnsAsync(
            round => RangesAsync(shelf.Address, links[bench.Rounds + round], box.Length), _ => RangesAsync(nginx.Address, "/box.zip", box.Length));
        await shelf.RequireCountedAsync(
            ((bench.Rounds + WarmStreams) * box.Length) + ((bench.Rounds + 1L) * Connections * RangesEach * RangeBytes), links.Count, (bench.Rounds + 1L) * (Connections + 1) * RangeBytes);
        Bench.Say($"64 KiB ranges: shelf {Connections * RangesEach / ranges[0]:0}/s, nginx {Connections * RangesEach / ranges[1]:0}/s");
        bench.Add("64 parallel 64 KiB ranges, shelf ÷ nginx", ranges[1] / ranges[0], "×", "≥ 0.8", ranges[1] / ranges[0] >= 0.8);
    }

    private static async Task<double> StreamAsync(Uri address, string path)
    {
        var begun = Stopwatch.GetTimestamp();
        using var client = new RawClient(address);
        await client.GetAsync(path);
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }

    private static async Task<double> RangesAsync(Uri address, string path, long length)
    {
        var begun = Stopwatch.GetTimestamp();
        await Task.WhenAll(Enumerable.Range(0, Connections).Select(async connection =>
        {
            var random = new Random(connection);
            using var client = new RawClient(address);
            for (var i = 0; i < RangesEach; i++)
                await client.GetAsync(path, random.NextInt64(length - RangeBytes), RangeBytes);
        }));
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }
}

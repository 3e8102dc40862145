using System.Diagnostics;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>Downloads started in a second over HTTP: each request is the first of its link.</summary>
internal static class StartsBench
{
    private const int Connections = 16, Goal = 1_000, EachRound = 2_000;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("starts"));
        var box = new StockedBox(shelf);
        await box.StockAsync(64 << 20);
        await shelf.StartAsync(bench);
        var links = await box.LinksAsync(EachRound * (bench.Rounds + 1));

        await StartAsync(shelf.Address, links[..EachRound]);
        var seconds = await bench.InTurnsAsync(round => StartAsync(shelf.Address, links.GetRange(EachRound * (round + 1), EachRound)));
        await shelf.RequireCountedAsync(4096L * links.Count, links.Count);
        bench.Add("downloads started over HTTP", EachRound / seconds[0], "/s", $"≥ {Goal}", EachRound / seconds[0] >= Goal);
    }

    private static async Task<double> StartAsync(Uri address, List<string> links)
    {
        var begun = Stopwatch.GetTimestamp();
        await Task.WhenAll(Enumerable.Range(0, Connections).Select(async connection =>
        {
            using var client = new RawClient(address);
            for (var i = connection; i < links.Count; i += Connections)
                await client.GetAsync(links[i], 0, 4096);
        }));
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }
}

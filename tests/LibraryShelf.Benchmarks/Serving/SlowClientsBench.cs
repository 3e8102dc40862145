using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>What the server holds in memory while 500 people on thin lines download the large archive.</summary>
internal static class SlowClientsBench
{
    private const int Clients = 500, SipBytes = 4096, Sips = 20;
    private const long Goal = 300_000_000;
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(500);

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("slow"));
        var box = new StockedBox(shelf);
        await box.StockAsync(bench.LibraryBytes);
        var links = await box.LinksAsync(Clients);
        var program = await shelf.StartAsync(bench);

        var most = 0L;
        var clients = links.Select(_ => new RawClient(shelf.Address)).ToList();
        await Task.WhenAll(clients.Select((client, i) => client.SendAsync(links[i])));
        for (var i = 0; i < Sips; i++)
        {
            var sips = await Task.WhenAll(clients.Select(client => client.SipAsync(SipBytes).AsTask()));
            if (sips.Contains(0))
                throw new InvalidOperationException("The server gave a slow client up.");
            most = Math.Max(most, program.ResidentBytes());
            await Task.Delay(Pause);
        }
        clients.ForEach(client => client.Dispose());
        bench.Add($"resident memory with {Clients} slow clients", most / 1e6, "MB", "< 300", most < Goal);
    }
}

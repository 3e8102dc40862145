using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using System.Text.Json;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using static LibraryShelf.Web.Tests.Endpoints.SendBench;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>The peer is tus-js-client 4.3.1, the client of the page, run by Node.js (tests/peers).</summary>
public sealed class TusPeerTests : IDisposable
{
    private const int Chunk = 64 * 1024;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);
    private readonly string data = Directory.CreateTempSubdirectory("tus-data-").FullName;
    private readonly string file = Path.GetTempFileName();
    private readonly byte[] bytes = new byte[(5 * Chunk) + 123];
    private readonly TestDatabase database;

    public TusPeerTests()
    {
        database = new TestDatabase(new DataPaths(data).Database);
        new Random(20160325).NextBytes(bytes);
        File.WriteAllBytes(file, bytes);
    }

    public void Dispose()
    {
        database.Dispose();
        foreach (var blob in Directory.EnumerateFiles(data, "*", SearchOption.AllDirectories))
            File.SetAttributes(blob, FileAttributes.Normal);
        Directory.Delete(data, recursive: true);
        File.Delete(file);
    }

    [Fact]
    public async Task A_whole_file_arrives()
    {
        var release = await SeedAsync();
        await using var host = await ServeAsync(FreePort());
        using var peer = Start(host, release, pause: false);
        var end = await LineAsync(peer);
        Assert.DoesNotContain("error", end, StringComparison.Ordinal);
        Assert.Equal(Hash(bytes), await StoredAsync(host));
    }

    [Fact]
    public async Task A_server_that_stops_midway_and_comes_back_is_gone_on_with()
    {
        var release = await SeedAsync();
        var port = FreePort();
        var first = await ServeAsync(port);
        using var peer = Start(first, release, pause: true);
        Assert.Equal("PATCH", await LineAsync(peer));
        await first.DisposeAsync();
        await GoAsync(peer);
        // Its piece met nobody; it asks how far the shelf is.
        Assert.Equal("HEAD", await LineAsync(peer));
        var partial = Assert.Single(Directory.GetFiles(new DataPaths(data).Uploads));
        Assert.Equal(Chunk, new FileInfo(partial).Length);

        await using var second = await ServeAsync(port);
        var said = "";
        do
        {
            await GoAsync(peer);
            said = await LineAsync(peer);
        }
        while (said == "PATCH");
        using var end = JsonDocument.Parse(said);
        Assert.True(end.RootElement.TryGetProperty("url", out _), said);
        // Creation, the first piece, one that met nobody, the question, then only what was missing: five pieces.
        Assert.Equal("POST,PATCH,PATCH,HEAD,PATCH,PATCH,PATCH,PATCH,PATCH",
            string.Join(',', end.RootElement.GetProperty("requests").EnumerateArray().Select(r => r.GetString())));
        Assert.Equal(Hash(bytes), await StoredAsync(second));
    }

    [Fact]
    public async Task The_shelfs_words_reach_the_client()
    {
        var release = await SeedAsync();
        await using var host = await ServeAsync(FreePort());
        using var peer = Start(host, release, pause: false, path: "../a.wav");
        Assert.Contains("climbs out", await LineAsync(peer), StringComparison.Ordinal);
    }

    private async Task<long> SeedAsync()
    {
        await using var host = new ShelfHost { Database = database, Settings = { ["Shelf:DataDirectory"] = data } };
        return await host.OpenDraftAsync();
    }

    private async Task<ShelfHost> ServeAsync(int port)
    {
        var host = new ShelfHost { Database = database, Settings = { ["Shelf:DataDirectory"] = data } };
        host.UseKestrel(k => k.Listen(IPAddress.Loopback, port));
        host.StartServer();
        await Task.CompletedTask;
        return host;
    }

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private Process Start(ShelfHost host, long release, bool pause, string path = "low/a.wav")
    {
        var folder = PeersFolder();
        var order = JsonSerializer.Serialize(new
        {
            endpoint = new Uri(host.ClientOptions.BaseAddress, "/uploads"), token = Token, file, release, path, chunk = Chunk, pause, sha256 = Hash(bytes),
        });
        return Process.Start(new ProcessStartInfo("node", [Path.Combine(folder, "tus-send.mjs"), order])
        {
            UseShellExecute = false, RedirectStandardInput = true, RedirectStandardOutput = true, WorkingDirectory = folder,
        })!;
    }

    private static string PeersFolder()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "LibraryShelf.sln")))
            folder = folder.Parent ?? throw new InvalidOperationException("Run the tests from a clone.");
        var peers = Path.Combine(folder.FullName, "tests", "peers");
        Assert.True(Directory.Exists(Path.Combine(peers, "node_modules", "tus-js-client")), "tus-js-client is missing: run `bash tests/install`.");
        return peers;
    }

    private static async Task<string> LineAsync(Process peer) =>
        await peer.StandardOutput.ReadLineAsync().WaitAsync(Patience) ?? throw new InvalidOperationException("The peer ended without a word.");

    private static Task GoAsync(Process peer)
    {
        peer.StandardInput.WriteLine();
        return peer.StandardInput.FlushAsync();
    }

    private static async Task<string> StoredAsync(ShelfHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<ShelfDb>();
        var line = await db.ReleaseFiles.SingleAsync(f => f.Path == "low/a.wav");
        var store = scope.ServiceProvider.GetRequiredService<Core.Storage.IBlobStore>();
        return Hash(await File.ReadAllBytesAsync(store.LocalPath(line.Sha256)!));
    }
}

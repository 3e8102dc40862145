using System.Net;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Cli.Tests.Send;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Cli.Tests.RealInput;

/// <summary>A whole shelf on a real socket with its jobs, and the steps a maker and a visitor take there.</summary>
internal sealed class PianoShelf : IDisposable
{
    private const string Library = "kettle"; // the one library a SendHost comes with
    private readonly SendHost host = new();

    public string Address { get; private set; } = "";
    public string BlobFolder => Path.Combine(host.DataFolder, "blobs");

    public async Task StartAsync()
    {
        host.UseKestrel(kestrel => kestrel.Listen(IPAddress.Loopback, 0));
        await host.SeedAsync();
        var addresses = host.Services.GetRequiredService<IServer>().Features.Get<IServerAddressesFeature>()!;
        Address = addresses.Addresses.Single();
    }

    public void Dispose() => host.Dispose();

    public Task<Ran> SendAsync(string folder) =>
        Ran.ShelfAsync("send", folder, "--to", Address, "--library", Library, "--token", SendHost.Token, "--json");

    /// <summary>Writes the words, asks for sealing and publishing, and waits for the jobs to be through, the digest included.</summary>
    public async Task<Archive> PublishAsync(string number)
    {
        var id = await AskDbAsync(db => Task.FromResult(db.Releases.Single(r => r.Number == number).Id));
        var words = new ReleaseWords("A piano, one layer.", "CC-BY-3.0", "", "", [new PlayerWords("Pondskater", "2.3")]);
        Assert.IsType<EditOutcome.Saved>(await RunAsync((EditRelease edit) => edit.RunAsync(id, words, CancellationToken.None)));
        Assert.IsType<AskForSealOutcome.Asked>(await RunAsync((AskForSeal seal) => seal.RunAsync(id, Audience.Free, declares: true, CancellationToken.None)));
        host.Services.GetRequiredService<JobChain>().SealSoon(id);
        await UntilAsync(db => db.Releases.Any(r => r.Id == id && r.State == ReleaseState.Published)
            && db.Archives.Any(a => a.ReleaseId == id && a.Sha256 != null));
        return await AskDbAsync(db => Task.FromResult(db.Archives.Single(a => a.ReleaseId == id)));
    }

    /// <summary>What pressing the download button makes: a signed link for a visitor who is not signed in.</summary>
    public async Task<MakeLinkOutcome.Made> PressDownloadAsync(long releaseId) =>
        Assert.IsType<MakeLinkOutcome.Made>(await RunAsync((MakeLink make) => make.RunAsync(releaseId, personId: null, fromReleaseId: null, CancellationToken.None)));

    public Task<T> AskDbAsync<T>(Func<ShelfDb, Task<T>> ask) => host.AskDbAsync(ask);

    /// <summary>Waits until what the rows say is so; a wait in vain fails after a minute.</summary>
    public async Task UntilAsync(Func<ShelfDb, bool> isSo)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromMinutes(1));
        while (!await AskDbAsync(db => Task.FromResult(isSo(db))))
            await Task.Delay(50, patience.Token);
    }

    private async Task<T> RunAsync<TVerb, T>(Func<TVerb, Task<T>> run) where TVerb : notnull
    {
        await using var scope = host.Services.CreateAsyncScope();
        return await run(scope.ServiceProvider.GetRequiredService<TVerb>());
    }
}

using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Once the server listens and while the shelf has no maker: prints the one-time link. To the console and not to the log,
/// because logs are kept and read by others. A service's console goes to a journal all the same, so the link is short-lived too.
/// </summary>
internal sealed class ClaimOffer(IServiceScopeFactory scopes, IServer server, IOptions<ShelfSettings> settings) : IHostedLifecycleService
{
    public async Task StartedAsync(CancellationToken cancellationToken)
    {
        if (Environment.GetCommandLineArgs().Contains(SettingsSetup.DemoSwitch))
            return;
        await using var scope = scopes.CreateAsyncScope();
        var token = await scope.ServiceProvider.GetRequiredService<OfferClaim>().RunAsync(cancellationToken);
        if (token is null)
            return;
        await Console.Out.WriteLineAsync(
            T($"This shelf has no maker yet. Claim it here, once, within {OfferClaim.Works.TotalHours} hours: {Address()}/workbench/claim/{token}"));
        await Console.Out.FlushAsync(cancellationToken);
    }

    private string Address() =>
        PublicAddress.AtTheServer(settings.Value, server.Features.Get<IServerAddressesFeature>()?.Addresses.FirstOrDefault());

    public Task StartingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StartAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppingAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;

    public Task StoppedAsync(CancellationToken cancellationToken) => Task.CompletedTask;
}

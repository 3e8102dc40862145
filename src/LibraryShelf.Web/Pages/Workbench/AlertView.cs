using LibraryShelf.Core.Alerts;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What stands, as the workbench's frame and its first page need it: read once a request, whoever asks first.</summary>
public sealed class AlertView(ReadAlerts read)
{
    private Task<StandingAlerts>? _standing;

    public Task<StandingAlerts> GetAsync(CancellationToken cancellationToken) => _standing ??= read.RunAsync(cancellationToken);
}

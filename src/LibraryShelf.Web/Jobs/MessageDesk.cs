using System.Threading.Channels;
using LibraryShelf.Core.Payments;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Takes in the payment provider's messages: those that come together are written together, and each is answered once it is on the disk. So a
/// thousand a second cost as many waits for the disk as there were batches.
/// </summary>
internal sealed class MessageDesk(IServiceScopeFactory scopes, JobChain chain, ILogger<MessageDesk> log) : BackgroundService
{
    private const int MostWaiting = 20_000;
    private const int MostAtOnce = 500;

    private readonly Channel<(PaymentEvent Message, TaskCompletionSource<bool> Kept)> waiting = Channel.CreateBounded<(PaymentEvent, TaskCompletionSource<bool>)>(
        new BoundedChannelOptions(MostWaiting) { SingleReader = true, FullMode = BoundedChannelFullMode.Wait });

    /// <returns>True once it is on the disk; false when it could not be written or too many wait: the provider sends it again.</returns>
    public Task<bool> KeepAsync(PaymentEvent message)
    {
        var kept = new TaskCompletionSource<bool>(TaskCreationOptions.RunContinuationsAsynchronously);
        return waiting.Writer.TryWrite((message, kept)) ? kept.Task : Task.FromResult(false);
    }

    public override Task StopAsync(CancellationToken cancellationToken)
    {
        waiting.Writer.TryComplete();
        return base.StopAsync(cancellationToken);
    }

    // Ends when the writer is completed and everything is answered: nobody waits for an answer that will not come.
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (await waiting.Reader.WaitToReadAsync(CancellationToken.None))
        {
            var batch = new List<(PaymentEvent Message, TaskCompletionSource<bool> Kept)>();
            while (batch.Count < MostAtOnce && waiting.Reader.TryRead(out var one))
                batch.Add(one);
            var isKept = await WriteAsync(batch.ConvertAll(b => b.Message));
            foreach (var (_, kept) in batch)
                kept.SetResult(isKept);
        }
    }

    private async Task<bool> WriteAsync(List<PaymentEvent> messages)
    {
        try
        {
            await using var scope = scopes.CreateAsyncScope();
            if (await scope.ServiceProvider.GetRequiredService<KeepMessages>().RunAsync(messages, CancellationToken.None) > 0)
                chain.PaymentsSoon();
            return true;
        }
#pragma warning disable CA1031 // Whatever the database says, the next messages must have their turn; these come again.
        catch (Exception refusal)
#pragma warning restore CA1031
        {
            log.LogError(refusal, "{Count} messages about payments could not be kept; the provider sends them again", messages.Count);
            return false;
        }
    }
}

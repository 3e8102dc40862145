using System.Text;
using LibraryShelf.Web.Endpoints;

namespace LibraryShelf.Web.Practice;

/// <summary>
/// Sends the stand-in's messages to this site's own door for them, signed, oldest first; what is not taken is sent again after a minute. Each minute
/// it also looks whether anything fell due.
/// </summary>
internal sealed class SendMessages(
    StandIn standIn, WayHome way, PracticeKeys keys, PracticeClock clock, IHostApplicationLifetime life, ILogger<SendMessages> log) : BackgroundService
{
    private const int MostTries = 200;

    private static readonly TimeSpan Pause = TimeSpan.FromMinutes(1);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        var listening = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        await using var started = life.ApplicationStarted.Register(() => listening.TrySetResult());
        await listening.Task.WaitAsync(stoppingToken);
        using var http = new HttpClient(way.Open()) { BaseAddress = WayHome.Somewhere, Timeout = TimeSpan.FromSeconds(30) };
        while (!stoppingToken.IsCancellationRequested)
        {
            while (standIn.Do(b => b.Ledger.Messages.FirstOrDefault()) is { } next && await TrySendAsync(http, next, stoppingToken))
                standIn.Do(b => b.Ledger.Messages.RemoveAll(m => m.Id == next.Id));
            await WaitAsync(stoppingToken);
        }
    }

    private async Task WaitAsync(CancellationToken stoppingToken)
    {
        while (standIn.MessagesWait.TryRead(out _))
        {
            // What woke us before the last look has been seen by it.
        }
        if (standIn.Do(b => b.Ledger.Messages.Exists(m => m.Tries == 0)))
            return;
        using var either = CancellationTokenSource.CreateLinkedTokenSource(stoppingToken);
        await Task.WhenAny(standIn.MessagesWait.WaitToReadAsync(either.Token).AsTask(), Task.Delay(Pause, clock, either.Token));
        await either.CancelAsync();
    }

    private async Task<bool> TrySendAsync(HttpClient http, PracticeMessage message, CancellationToken stoppingToken)
    {
        try
        {
            using var request = new HttpRequestMessage(HttpMethod.Post, PaymentEndpoints.Path);
            request.Content = new StringContent(message.Body, Encoding.UTF8, "application/json");
            request.Headers.Add("Stripe-Signature", keys.Sign(message.Body, clock.GetUtcNow().ToUnixTimeSeconds()));
            using var answer = await http.SendAsync(request, stoppingToken);
            if (answer.IsSuccessStatusCode)
                return true;
            log.LogWarning("A practice message was not taken: {Status}. It is sent again.", (int)answer.StatusCode);
        }
        catch (Exception away) when (away is HttpRequestException || (away is TaskCanceledException && !stoppingToken.IsCancellationRequested))
        {
            log.LogWarning(away, "A practice message could not be sent. It is sent again.");
        }
        standIn.Do(b => b.Ledger.Messages.FindAll(m => m.Id == message.Id).ForEach(m => m.Tries++));
        standIn.Do(b => b.Ledger.Messages.RemoveAll(m => m.Tries > MostTries));
        return false;
    }
}

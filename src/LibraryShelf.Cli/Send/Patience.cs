using System.Net;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Send;

/// <summary>A trouble that may be gone in a moment: a cut line, a shelf that restarts.</summary>
internal sealed class PassingTroubleException : Exception
{
    public PassingTroubleException() { }
    public PassingTroubleException(string message) : base(message) { }
    public PassingTroubleException(string message, Exception innerException) : base(message, innerException) { }
}

/// <summary>Tries again after 1, 2, 4, 8 and 15 seconds; whoever makes progress in between begins anew.</summary>
internal sealed class Patience(TimeProvider clock)
{
    private static readonly int[] Seconds = [1, 2, 4, 8, 15];

    public static bool IsPassing(HttpStatusCode status) =>
        status is HttpStatusCode.Locked or HttpStatusCode.RequestTimeout or HttpStatusCode.TooManyRequests
        || ((int)status >= 500 && status != HttpStatusCode.InsufficientStorage);

    public static bool IsPassing(Exception e, CancellationToken stop) =>
        e is PassingTroubleException or HttpRequestException or HttpIOException || (e is OperationCanceledException && !stop.IsCancellationRequested);

    public async Task<T> TryAsync<T>(Func<Task<T>> ask, CancellationToken cancellationToken)
    {
        for (var tries = 0; ; tries++)
        {
            try
            {
                return await ask();
            }
            catch (Exception e) when (IsPassing(e, cancellationToken))
            {
                await WaitAsync(tries, e, cancellationToken);
            }
        }
    }

    /// <summary>Waits before try number <paramref name="tries"/> + 2, or gives up with a CouldNotRunException.</summary>
    public async Task WaitAsync(int tries, Exception trouble, CancellationToken cancellationToken)
    {
        if (tries >= Seconds.Length)
            throw new CouldNotRunException($"the shelf can't be reached: {trouble.Message} What was sent is kept; run the same command again to go on from there.", trouble);
        await Task.Delay(TimeSpan.FromSeconds(Seconds[tries]), clock, cancellationToken);
    }
}

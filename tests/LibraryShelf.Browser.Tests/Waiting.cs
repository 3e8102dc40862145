namespace LibraryShelf.Browser.Tests;

internal static class Waiting
{
    /// <summary>Asks again until the condition holds; a test that waits in vain fails after <see cref="RunningShelf.LongestWait"/>.</summary>
    public static async Task UntilAsync(Func<Task<bool>> condition)
    {
        using var patience = new CancellationTokenSource(RunningShelf.LongestWait);
        while (!await condition())
            await Task.Delay(100, patience.Token);
    }
}

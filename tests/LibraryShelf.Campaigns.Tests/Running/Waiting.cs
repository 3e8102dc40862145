using System.Diagnostics;

namespace LibraryShelf.Campaigns.Tests.Running;

internal static class Waiting
{
    /// <summary>For a loaded machine of two cores.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(150);

    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(10);

    public static async Task UntilAsync(string what, Func<Task<bool>> holds)
    {
        for (var begun = Stopwatch.GetTimestamp(); !await holds();)
        {
            if (Stopwatch.GetElapsedTime(begun) > Patience)
                throw new TimeoutException($"Waited {Patience.TotalSeconds} s in vain until {what}.");
            await Task.Delay(Look);
        }
    }
}

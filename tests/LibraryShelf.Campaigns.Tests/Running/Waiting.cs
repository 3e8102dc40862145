using System.Diagnostics;

namespace LibraryShelf.Campaigns.Tests.Running;

internal static class Waiting
{
    /// <summary>For a loaded machine of two cores.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(150);

    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(10);

    /// <param name="what">What is waited for, in words.</param>
    /// <param name="holds">Whether it holds.</param>
    /// <param name="look">How long to wait between two looks; null: as short as may be.</param>
    /// <param name="instead">How things stand when it was waited for in vain.</param>
    public static async Task UntilAsync(string what, Func<Task<bool>> holds, TimeSpan? look = null, Func<Task<string>>? instead = null)
    {
        for (var begun = Stopwatch.GetTimestamp(); !await holds();)
        {
            if (Stopwatch.GetElapsedTime(begun) > Patience)
                throw new TimeoutException($"Waited {Patience.TotalSeconds} s in vain until {what}. {(instead is null ? "" : await instead())}");
            await Task.Delay(look ?? Look);
        }
    }
}

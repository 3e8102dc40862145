using System.Diagnostics;
using System.Net.Sockets;
using LibraryShelf.Campaigns.Tests.Holding;
using LibraryShelf.Campaigns.Tests.Running;
using Xunit.Abstractions;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>Kills the program at points spread by a seed over the length that the step was measured to have.</summary>
internal sealed class Campaign(TrialShelf shelf, KilledStep step, ITestOutputHelper output)
{
    /// <summary>Some kills come shortly after the step's end, where its last rows are just written.</summary>
    private const double Beyond = 1.1;

    private string state = "";

    public async Task RunAsync(int points, int seed)
    {
        var random = new Random(seed);
        try
        {
            await step.SetUpAsync();
            var length = await MeasureAsync();
            output.WriteLine($"{step.GetType().Name}: {length.TotalMilliseconds:0} ms");
            for (var point = 1; point <= points; point++)
                await PointAsync(point, length * (random.NextDouble() * Beyond));
        }
        catch (Exception e)
        {
            throw new InvalidOperationException($"{step.GetType().Name}, seed {seed}, {state}: {e.Message}\n{await FindingsAsync()}\n{shelf.LastWords}", e);
        }
    }

    /// <summary>The same step without a kill, on a program started not long before, as it will be at each point.</summary>
    private async Task<TimeSpan> MeasureAsync()
    {
        state = "measuring";
        await step.MakeReadyAsync(0);
        await step.OpenAsync();
        var begun = Stopwatch.GetTimestamp();
        var under = step.BeginAsync();
        await Waiting.UntilAsync("the step is over", step.IsOverAsync);
        var length = Stopwatch.GetElapsedTime(begun);
        await under;
        shelf.Kill();
        using (var copy = new DatabaseCopy(shelf.Paths))
            await step.LookAsync(copy.Db);
        await shelf.StartAsync();
        await step.GoOnAsync();
        return length;
    }

    private async Task PointAsync(int point, TimeSpan delay)
    {
        await step.MakeReadyAsync(point);
        delay *= step.Stretch;
        state = $"point {point}, killed after {delay.TotalMilliseconds:0.0} ms";
        await step.OpenAsync();
        var under = step.BeginAsync();
        await Task.Delay(delay);
        step.KilledAt = Stopwatch.GetTimestamp();
        shelf.Kill();
        await LetGoAsync(under);
        using (var copy = new DatabaseCopy(shelf.Paths))
        {
            var broken = await new Promises(shelf.Paths).BrokenAsync(copy.Db);
            Assert.True(broken.Count == 0, string.Join('\n', broken));
            await step.LookAsync(copy.Db);
        }
        await shelf.StartAsync();
        await step.GoOnAsync();
        output.WriteLine(state);
    }

    /// <summary>Whoever was speaking with the program when it was killed hears of a broken line; that is no finding.</summary>
    private static async Task LetGoAsync(Task under)
    {
        try
        {
            await under;
        }
        // A kill in the middle of connecting comes through bare.
        catch (Exception e) when (e is HttpRequestException or IOException or TaskCanceledException or SocketException)
        {
            // As said.
        }
    }

    private async Task<string> FindingsAsync()
    {
        try
        {
            using var copy = new DatabaseCopy(shelf.Paths);
            var broken = await new Promises(shelf.Paths).BrokenAsync(copy.Db);
            return $"The data directory: {(broken.Count == 0 ? "all promises hold" : string.Join('\n', broken))}";
        }
        catch (Exception e) when (e is IOException or System.Data.Common.DbException)
        {
            return $"The data directory could not be looked at: {e.Message}";
        }
    }
}

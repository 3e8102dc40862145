using LibraryShelf.Core.Data;
using LibraryShelf.Core.Tests.Sealing;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>Looks at how far a work is from within the work, on its own thread, while it waits to be looked at.</summary>
internal static class HowFarBench
{
    /// <summary>A machine that is busy with other tests takes seconds for what takes milliseconds.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(1);

    /// <summary>How far the work says that it is, once it says that some of it is done.</summary>
    public static WorkProgress WaitForRow(SealBench bench)
    {
        WorkProgress? row = null;
        WaitFor(bench, () =>
        {
            using var db = bench.Shelf.Open();
            return (row = db.WorkProgress.SingleOrDefault()) is { Done: > 0 } or { DoneBytes: > 0 };
        });
        return row!;
    }

    /// <summary>The clock stands but for this: what is written down or looked at some times a second is, within one pause.</summary>
    public static void WaitFor(SealBench bench, Func<bool> condition) => Assert.True(SpinWait.SpinUntil(() =>
    {
        bench.Shelf.Clock.Advance(TimeSpan.FromMilliseconds(300));
        return condition();
    }, Patience));
}

namespace LibraryShelf.Core.Statistics;

/// <summary>How much is done in one transaction, so that one writer waits for another no longer than about <see cref="Held"/>, however busy the machine.</summary>
/// <param name="Smallest">Rows or people; no fewer, however long they take.</param>
/// <param name="Largest">No more, however fast they are.</param>
internal sealed record Pace(int Smallest, int Largest)
{
    /// <summary>The house's own, no source.</summary>
    public static readonly TimeSpan Held = TimeSpan.FromMilliseconds(400);

    /// <summary>How many next, after so many took so long.</summary>
    public int After(int size, TimeSpan took) => took > Held ? Math.Max(Smallest, size / 2) : took < Held / 2 ? Math.Min(Largest, size * 2) : size;
}

namespace LibraryShelf.Audio.Measures;

/// <summary>The sum of the last so many values.</summary>
internal sealed class SlidingSum(int length)
{
    private readonly double[] ring = new double[length];
    private int at;

    public double Sum { get; private set; }

    /// <summary>How many values there are, at most the length.</summary>
    public int Filled { get; private set; }

    public bool IsFull => Filled == length;

    public void Add(double value)
    {
        Sum += value - ring[at];
        ring[at] = value;
        if (Filled < length)
            Filled++;
        if (++at < length)
            return;
        at = 0;
        // Summed afresh once a round, so that rounding errors of loud values do not outlive them.
        Sum = ring.Sum();
    }
}

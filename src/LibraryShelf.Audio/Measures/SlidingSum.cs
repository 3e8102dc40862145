namespace LibraryShelf.Audio.Measures;

/// <summary>The sum of the last so many values.</summary>
internal sealed class SlidingSum(int length)
{
    private readonly double[] ring = new double[length];
    private long count;

    public double Sum { get; private set; }

    public int Filled => (int)Math.Min(count, length);

    public bool IsFull => count >= length;

    public void Add(double value)
    {
        var at = (int)(count++ % length);
        Sum += value - ring[at];
        ring[at] = value;
        // Summed afresh once a round, so that rounding errors of loud values do not outlive them.
        if (at == length - 1)
            Sum = ring.Sum();
    }
}

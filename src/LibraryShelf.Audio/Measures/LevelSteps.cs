namespace LibraryShelf.Audio.Measures;

/// <summary>
/// A number for each step of level from −180 to +60 dBFS; what is beyond falls into the outermost. Steps are the first bits of a power as a
/// floating-point number: 64 to an octave, 0.03 to 0.07 dB each, without a logarithm.
/// </summary>
internal sealed class LevelSteps
{
    private const int BitsPassedOver = 46, PerOctave = 64;
    private const int LeastOctave = -60, Octaves = 80;

    private static readonly long Least = BitConverter.DoubleToInt64Bits(Math.ScaleB(1, LeastOctave)) >> BitsPassedOver;

    private readonly long[] values = new long[Octaves * PerOctave];

    public LevelSteps(long start) => values.AsSpan().Fill(start);

    public long this[int step]
    {
        get => values[step];
        set => values[step] = value;
    }

    /// <summary>The values from this step up.</summary>
    public ReadOnlySpan<long> From(int step) => values.AsSpan(step);

    /// <param name="power">A square or a mean of squares, not negative.</param>
    public static int Of(double power) =>
        (int)Math.Clamp((BitConverter.DoubleToInt64Bits(power) >> BitsPassedOver) - Least, 0, Octaves * PerOctave - 1);
}

namespace LibraryShelf.Audio.Measures;

/// <summary>
/// When a magnitude was first reached, for every magnitude, in fixed memory: levels are kept in steps of 0.05 dB, which is as exact as the
/// time is for them.
/// </summary>
internal sealed class OnsetRecord
{
    private readonly LevelSteps<long> first = new(long.MaxValue);
    private double record;

    /// <summary>Takes one channel of a stretch whose peak is above all stretches before; call <see cref="Raise"/> after the last channel.</summary>
    public void Take(ReadOnlySpan<double> samples, long frame)
    {
        var highest = record;
        for (var i = 0; i < samples.Length; i++)
        {
            var magnitude = Math.Abs(samples[i]);
            if (magnitude <= highest)
                continue;
            var top = LevelSteps<long>.StepOf(20 * Math.Log10(magnitude));
            for (var step = highest > 0 ? LevelSteps<long>.StepOf(20 * Math.Log10(highest)) + 1 : 0; step <= top; step++)
                first[step] = Math.Min(first[step], frame + i);
            highest = magnitude;
        }
    }

    public double Record => record;

    public void Raise(double peak) => record = Math.Max(record, peak);

    /// <summary>The first frame whose magnitude came within a step of <paramref name="decibels"/>; null when none did.</summary>
    public long? FirstAt(double decibels) => first[LevelSteps<long>.StepOf(decibels)] is var frame and < long.MaxValue ? frame : null;
}

/// <summary>A value for each 0.05 dB from −240 to +320 dBFS; levels beyond fall into the last step.</summary>
internal sealed class LevelSteps<T>
{
    private const double Least = -240;
    private const int PerDecibel = 20;
    public const int Count = 560 * PerDecibel;

    private readonly T[] values = new T[Count];

    public LevelSteps(T start) => values.AsSpan().Fill(start);

    public T this[int step]
    {
        get => values[step];
        set => values[step] = value;
    }

    /// <summary>The values from this step up.</summary>
    public ReadOnlySpan<T> From(int step) => values.AsSpan(step);

    public static int StepOf(double decibels) => (int)Math.Clamp((decibels - Least) * PerDecibel, 0, Count - 1);
}

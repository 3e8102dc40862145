namespace LibraryShelf.Audio.Measures;

/// <summary>When a magnitude was first reached, for every magnitude, in fixed memory: to within a step of <see cref="LevelSteps"/>.</summary>
internal sealed class OnsetRecord
{
    private readonly LevelSteps first = new(long.MaxValue);

    /// <summary>The greatest magnitude so far.</summary>
    public double Record { get; private set; }

    /// <summary>Takes one channel of a stretch whose peak is above all stretches before; call <see cref="Raise"/> after the last channel.</summary>
    public void Take(ReadOnlySpan<double> samples, long frame)
    {
        var highest = Record;
        for (var i = 0; i < samples.Length; i++)
        {
            var magnitude = Math.Abs(samples[i]);
            if (magnitude <= highest)
                continue;
            var top = LevelSteps.Of(magnitude * magnitude);
            for (var step = highest > 0 ? LevelSteps.Of(highest * highest) + 1 : 0; step <= top; step++)
                first[step] = Math.Min(first[step], frame + i);
            highest = magnitude;
        }
    }

    public void Raise(double peak) => Record = Math.Max(Record, peak);

    /// <summary>The first frame of this magnitude, to a step; null when none was.</summary>
    public long? FirstAt(double magnitude) => first[LevelSteps.Of(magnitude * magnitude)] is var frame and < long.MaxValue ? frame : null;
}

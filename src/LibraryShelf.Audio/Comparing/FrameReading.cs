using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Comparing;

/// <summary>A recording's frames one stretch after another, in any length, in a fixed buffer.</summary>
internal sealed class FrameReading(SoundFile file)
{
    private readonly int blockSamples = SoundFile.BlockFrames * file.Format!.Channels;
    private double[] block = [];
    private int at, filled;

    public SampleFormat Format { get; } = file.Format!;

    /// <summary>Fills <paramref name="interleaved"/> as far as there are frames; returns the samples given. What is no number counts as 0.</summary>
    public int Read(Span<double> interleaved)
    {
        var given = 0;
        while (given < interleaved.Length)
        {
            if (at == filled && interleaved.Length - given >= blockSamples)
            {
                // A whole block needs no place of its own.
                var whole = Next(interleaved.Slice(given, blockSamples));
                if (whole == 0)
                    break;
                given += whole;
                continue;
            }
            if (at == filled && !Fill())
                break;
            var count = Math.Min(interleaved.Length - given, filled - at);
            block.AsSpan(at, count).CopyTo(interleaved[given..]);
            at += count;
            given += count;
        }
        return given;
    }

    /// <summary>Passes over frames, as far as there are any.</summary>
    public void Skip(long frames)
    {
        for (var left = frames * Format.Channels; left > 0 && (at < filled || Fill());)
        {
            var count = (int)Math.Min(left, filled - at);
            at += count;
            left -= count;
        }
    }

    private bool Fill()
    {
        if (block.Length == 0)
            block = new double[blockSamples];
        (at, filled) = (0, Next(block));
        return filled > 0;
    }

    private int Next(Span<double> samples)
    {
        var count = file.ReadBlock(samples);
        if (Format.IsFloat)
            foreach (ref var sample in samples[..count])
                if (!(Math.Abs(sample) <= 1e15))
                    sample = 0;
        return count;
    }
}

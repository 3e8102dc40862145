using LibraryShelf.Audio.Comparing;
using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Previews;

/// <summary>Reads the start of a recording as a short sound, in memory bounded by its length.</summary>
public static class SoundReading
{
    /// <param name="stream">The recording, from its first byte.</param>
    /// <param name="skip">Frames passed over at the start.</param>
    /// <param name="mostSeconds">Where it is cut at the latest.</param>
    /// <returns>
    /// The first two of its channels, in the recording's own rate; shorter where the recording ends; null when its samples can't be read. What is no
    /// number counts as 0.
    /// </returns>
    public static Sound? Read(Stream stream, long skip, double mostSeconds)
    {
        ArgumentNullException.ThrowIfNull(stream);
        if (SoundFiles.Open(stream) is not { } file)
            return null;
        var reading = new FrameReading(file);
        var format = reading.Format;
        reading.Skip(skip);
        var kept = Math.Min(format.Channels, 2);
        var left = (long)Math.Ceiling(mostSeconds * format.SampleRate);
        // The file can't hold more than its length lets it: a short one takes no room for a long one.
        var samples = new float[(stream.CanSeek ? Math.Min(left, stream.Length / format.BytesPerFrame) : left) * kept];
        var count = 0;
        var block = new double[SoundFile.BlockFrames * format.Channels];
        while (left > 0 && reading.Read(block.AsSpan(0, (int)Math.Min(left, SoundFile.BlockFrames) * format.Channels)) is > 0 and var given)
        {
            for (var at = 0; at < given; at += format.Channels)
                for (var channel = 0; channel < kept; channel++)
                    samples[count++] = (float)block[at + channel];
            left -= given / format.Channels;
        }
        return new Sound(samples.AsMemory(0, count), kept, format.SampleRate);
    }
}

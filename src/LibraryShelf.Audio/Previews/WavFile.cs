using System.Buffers.Binary;

namespace LibraryShelf.Audio.Previews;

/// <summary>Writes a short sound as a WAV file: PCM of 16 bits, rounded, what is beyond full scale cut.</summary>
public static class WavFile
{
    public const int HeaderBytes = 44;

    public static byte[] Write(Sound sound)
    {
        ArgumentNullException.ThrowIfNull(sound);
        var samples = sound.Samples.Span;
        var file = new byte[HeaderBytes + 2 * samples.Length];
        "RIFF"u8.CopyTo(file);
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(4), file.Length - 8);
        "WAVEfmt "u8.CopyTo(file.AsSpan(8));
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(16), 16);
        BinaryPrimitives.WriteInt16LittleEndian(file.AsSpan(20), 1);
        BinaryPrimitives.WriteInt16LittleEndian(file.AsSpan(22), (short)sound.Channels);
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(24), sound.SampleRate);
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(28), 2 * sound.Channels * sound.SampleRate);
        BinaryPrimitives.WriteInt16LittleEndian(file.AsSpan(32), (short)(2 * sound.Channels));
        BinaryPrimitives.WriteInt16LittleEndian(file.AsSpan(34), 16);
        "data"u8.CopyTo(file.AsSpan(36));
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(40), 2 * samples.Length);
        for (var i = 0; i < samples.Length; i++)
            BinaryPrimitives.WriteInt16LittleEndian(file.AsSpan(HeaderBytes + 2 * i), (short)Math.Clamp(Math.Round(samples[i] * 32768.0), short.MinValue, short.MaxValue));
        return file;
    }
}

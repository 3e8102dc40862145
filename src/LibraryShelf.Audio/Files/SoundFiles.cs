using System.Buffers.Binary;

namespace LibraryShelf.Audio.Files;

/// <summary>Which reader a recording wants, told by its first bytes.</summary>
internal static class SoundFiles
{
    /// <summary>For its samples alone: stands before the first frame; null when they can't be read.</summary>
    public static SoundFile? Open(Stream stream)
    {
        Span<byte> start = stackalloc byte[FileMagic.Length];
        start = start[..stream.ReadAtLeast(start, start.Length, throwOnEndOfStream: false)];
        if (Reader(FileMagic.ContainerOf(start), stream, start) is not { } file)
            return null;
        file.IsHashed = false;
        return file.GoToSamples() ? file : null;
    }

    /// <summary>What reads this container's samples, behind its first bytes; null when nothing here does.</summary>
    public static SoundFile? Reader(string container, Stream stream, ReadOnlySpan<byte> start) =>
        FileMagic.IsRiffWave(container) ? new WavReader(stream, BinaryPrimitives.ReadUInt32LittleEndian(start[4..]))
        : container == "aiff" ? new AiffReader(stream, BinaryPrimitives.ReadUInt32BigEndian(start[4..]), FileMagic.IsAiffC(start))
        : null;
}

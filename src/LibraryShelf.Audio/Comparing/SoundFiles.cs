using System.Buffers.Binary;
using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Comparing;

/// <summary>Opens a recording for its samples alone.</summary>
internal static class SoundFiles
{
    /// <summary>Stands before the first frame; null when its samples can't be read.</summary>
    public static SoundFile? Open(Stream stream)
    {
        Span<byte> start = stackalloc byte[FileMagic.Length];
        start = start[..stream.ReadAtLeast(start, start.Length, throwOnEndOfStream: false)];
        var container = FileMagic.ContainerOf(start);
        SoundFile? file = FileMagic.IsRiffWave(container) ? new WavReader(stream, BinaryPrimitives.ReadUInt32LittleEndian(start[4..]))
            : container == "aiff" ? new AiffReader(stream, BinaryPrimitives.ReadUInt32BigEndian(start[4..]), FileMagic.IsAiffC(start))
            : null;
        return file?.GoToSamples() == true ? file : null;
    }
}

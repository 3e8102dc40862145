using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace LibraryShelf.Benchmarks.Making;

/// <summary>
/// A piano-sized library made of decaying noise: 88 keys in five layers, 24-bit stereo WAV at 48 kHz, and its mapping. The same seed
/// gives the same bytes; another seed shares no file with it.
/// </summary>
internal sealed class MadeLibrary(string folder)
{
    private const int Layers = 5, FirstKey = 21, Keys = 88, FrameBytes = 6;
    private static readonly string[] Names = ["C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B"];

    public string Folder => folder;

    public IReadOnlyList<string> Recordings { get; } = [.. Enumerable.Range(0, Keys * Layers).Select(i =>
        Path.Combine(folder, "Samples", $"{Names[(FirstKey + (i / Layers)) % 12]}{((FirstKey + (i / Layers)) / 12) - 1}_v{(i % Layers) + 1}.wav"))];

    public void Make(long bytes, ulong seed)
    {
        Directory.CreateDirectory(Path.Combine(folder, "Samples"));
        var frames = (int)(bytes / Recordings.Count / FrameBytes);
        for (var i = 0; i < Recordings.Count; i++)
            WriteRecording(Recordings[i], frames, seed + (ulong)i);
        File.WriteAllText(Path.Combine(folder, "Bench Piano.sfz"), Mapping());
    }

    /// <summary>Records so many of the files anew, spread over the library. Answers the bytes that changed.</summary>
    public long Mend(int files, ulong seed)
    {
        long changed = 0;
        for (var i = 0; i < files; i++)
        {
            var path = Recordings[i * Recordings.Count / files];
            var bytes = new FileInfo(path).Length;
            WriteRecording(path, (int)((bytes - 44) / FrameBytes), seed + (ulong)i);
            changed += bytes;
        }
        return changed;
    }

    private static void WriteRecording(string path, int frames, ulong seed)
    {
        var bytes = new byte[44 + (frames * FrameBytes)];
        Header(bytes, frames);
        var state = (seed * 0x9E3779B97F4A7C15) | 1;
        for (var frame = 0; frame < frames; frame++)
        {
            var level = 6_000_000 - (int)(5_900_000L * frame / frames);
            for (var channel = 0; channel < 2; channel++)
            {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                var sample = (int)((long)(int)state * level >> 32);
                var at = 44 + (frame * FrameBytes) + (channel * 3);
                bytes[at] = (byte)sample;
                bytes[at + 1] = (byte)(sample >> 8);
                bytes[at + 2] = (byte)(sample >> 16);
            }
        }
        File.WriteAllBytes(path, bytes);
    }

    private static void Header(Span<byte> into, int frames)
    {
        "RIFF"u8.CopyTo(into);
        BinaryPrimitives.WriteInt32LittleEndian(into[4..], 36 + (frames * FrameBytes));
        "WAVEfmt "u8.CopyTo(into[8..]);
        BinaryPrimitives.WriteInt32LittleEndian(into[16..], 16);
        BinaryPrimitives.WriteInt16LittleEndian(into[20..], 1);
        BinaryPrimitives.WriteInt16LittleEndian(into[22..], 2);
        BinaryPrimitives.WriteInt32LittleEndian(into[24..], 48_000);
        BinaryPrimitives.WriteInt32LittleEndian(into[28..], 48_000 * FrameBytes);
        BinaryPrimitives.WriteInt16LittleEndian(into[32..], FrameBytes);
        BinaryPrimitives.WriteInt16LittleEndian(into[34..], 24);
        "data"u8.CopyTo(into[36..]);
        BinaryPrimitives.WriteInt32LittleEndian(into[40..], frames * FrameBytes);
    }

    private string Mapping()
    {
        var text = new StringBuilder();
        for (var i = 0; i < Recordings.Count; i++)
        {
            var layer = i % Layers;
            text.Append(CultureInfo.InvariantCulture,
                $"<region> sample=Samples/{Path.GetFileName(Recordings[i])} key={FirstKey + (i / Layers)} lovel={(layer * 25) + 1} hivel={(layer == Layers - 1 ? 127 : (layer + 1) * 25)}\n");
        }
        return text.ToString();
    }
}

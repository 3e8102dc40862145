using System.Buffers.Binary;
using System.Globalization;
using System.IO.Compression;
using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Campaigns.Tests.Making;

/// <summary>
/// A small library folder of decaying noise, 24-bit stereo WAV at 48 kHz, and its mapping. The same seed gives the same bytes;
/// another seed shares no recording with it.
/// </summary>
internal sealed class MadeFolder
{
    private const int FrameBytes = 6, HeaderBytes = 44, FirstKey = 48;
    private static readonly string[] Names = ["C", "Cs", "D", "Ds", "E", "F", "Fs", "G", "Gs", "A", "As", "B"];

    private MadeFolder(string folder) => Folder = folder;

    public string Folder { get; }

    /// <summary>SHA-256, lower-case hex, of each file by its path in the folder.</summary>
    public Dictionary<string, string> Hashes { get; } = new(StringComparer.Ordinal);

    public long SizeOf(string path) => new FileInfo(Path.Combine(Folder, path)).Length;

    /// <param name="folder">Made anew.</param>
    /// <param name="seed">Which noise.</param>
    /// <param name="sizes">About so many bytes in each recording.</param>
    public static MadeFolder Make(string folder, ulong seed, params int[] sizes)
    {
        var made = new MadeFolder(folder);
        Directory.CreateDirectory(Path.Combine(folder, "Samples"));
        var mapping = new StringBuilder();
        for (var i = 0; i < sizes.Length; i++)
        {
            var key = FirstKey + i;
            var path = $"Samples/{Names[key % 12]}{(key / 12) - 1}.wav";
            made.Write(path, Recording(sizes[i] / FrameBytes, (seed * 1000) + (ulong)i));
            mapping.Append(CultureInfo.InvariantCulture, $"<region> sample={path} key={key}\n");
        }
        made.Write("Noise.sfz", Encoding.UTF8.GetBytes(mapping.ToString()));
        return made;
    }

    /// <summary>The folder in one zip, stored, as a maker would make it.</summary>
    public async Task<string> ZipAsync()
    {
        var zip = Folder + ".zip";
        await ZipFile.CreateFromDirectoryAsync(Folder, zip, CompressionLevel.NoCompression, includeBaseDirectory: false);
        return zip;
    }

    private void Write(string path, byte[] bytes)
    {
        File.WriteAllBytes(Path.Combine(Folder, path), bytes);
        Hashes[path] = Convert.ToHexStringLower(SHA256.HashData(bytes));
    }

    private static byte[] Recording(int frames, ulong seed)
    {
        var bytes = new byte[HeaderBytes + (frames * FrameBytes)];
        Header(bytes, frames);
        var state = (seed * 0x9E3779B97F4A7C15) | 1; // xorshift needs a state other than 0
        for (var frame = 0; frame < frames; frame++)
        {
            var level = 6_000_000 - (int)(5_900_000L * frame / frames);
            for (var at = HeaderBytes + (frame * FrameBytes); at < HeaderBytes + ((frame + 1) * FrameBytes); at += 3)
            {
                state ^= state << 13;
                state ^= state >> 7;
                state ^= state << 17;
                var sample = (int)((long)(int)state * level >> 32);
                (bytes[at], bytes[at + 1], bytes[at + 2]) = ((byte)sample, (byte)(sample >> 8), (byte)(sample >> 16));
            }
        }
        return bytes;
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
}

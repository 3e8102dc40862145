using System.Buffers.Binary;
using System.Text;

namespace LibraryShelf.Browser.Tests;

/// <summary>A small library folder as a maker has it on her disk: a few 16-bit recordings and their SFZ mapping.</summary>
internal static class KettleFolder
{
    private const int Rate = 44_100;
    public static readonly int[] Keys = [60, 62, 64, 65, 67];

    public static void Write(string folder)
    {
        Directory.CreateDirectory(Path.Combine(folder, "recordings"));
        var mapping = new StringBuilder("<group> ampeg_release=0.4\n");
        foreach (var key in Keys)
        {
            File.WriteAllBytes(Path.Combine(folder, "recordings", $"kettle-{key}.wav"), Recording(key));
            mapping.Append($"<region> sample=recordings/kettle-{key}.wav key={key}\n");
        }
        File.WriteAllText(Path.Combine(folder, "kettle.sfz"), mapping.ToString());
    }

    /// <summary>A fifth of a second of a dying sine at the key's frequency (equal temperament, A4 = 440 Hz), mono, 16 bits.</summary>
    private static byte[] Recording(int key)
    {
        const int frames = Rate / 5;
        var wav = new byte[44 + (2 * frames)];
        Encoding.ASCII.GetBytes("RIFF").CopyTo(wav, 0);
        BinaryPrimitives.WriteInt32LittleEndian(wav.AsSpan(4), wav.Length - 8);
        Encoding.ASCII.GetBytes("WAVEfmt ").CopyTo(wav, 8);
        BinaryPrimitives.WriteInt32LittleEndian(wav.AsSpan(16), 16);
        BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(20), 1);
        BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(22), 1);
        BinaryPrimitives.WriteInt32LittleEndian(wav.AsSpan(24), Rate);
        BinaryPrimitives.WriteInt32LittleEndian(wav.AsSpan(28), 2 * Rate);
        BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(32), 2);
        BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(34), 16);
        Encoding.ASCII.GetBytes("data").CopyTo(wav, 36);
        BinaryPrimitives.WriteInt32LittleEndian(wav.AsSpan(40), 2 * frames);
        var frequency = 440 * Math.Pow(2, (key - 69) / 12.0);
        for (var n = 0; n < frames; n++)
        {
            var value = 0.5 * Math.Exp(-6.0 * n / frames) * Math.Sin(2 * Math.PI * frequency * n / Rate);
            BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(44 + (2 * n)), (short)Math.Round(value * short.MaxValue));
        }
        return wav;
    }
}

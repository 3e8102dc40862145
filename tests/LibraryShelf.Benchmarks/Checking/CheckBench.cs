namespace LibraryShelf.Benchmarks.Checking;

/// <summary>
/// Processor time of the whole `shelf check`, as makers get it, against that of only hashing the same files and of three tools that measure some of
/// it, file by file; and the memory of one long file. The recordings are those of a real piano, which tests/install fetches.
/// </summary>
internal static class CheckBench
{
    private const double HashGoal = 3, ToolsGoal = 0.1, MemoryGoal = 200;
    private const int LongSeconds = 7200;

    private const string Decode = """for f in "$0"/*.ogg; do ffmpeg -nostdin -v error -y -i "$f" -ar "$2" -ac "$3" -c:a "$4" "$1/$(basename "$f" .ogg).wav" || exit 2; done""";

    private const string Tools = """
        for f in "$0"/*.wav; do
          ffmpeg -nostdin -nostats -i "$f" -af ebur128=peak=true -f null - && aubiopitch -i "$f" && sox "$f" -n stats || exit 2
        done
        """;

    public static async Task RunAsync(Bench bench)
    {
        await CompareAsync(bench, "24-bit stereo", "48000", "2", "pcm_s24le");
        await CompareAsync(bench, "16-bit mono", "44100", "1", "pcm_s16le");
        await MeasureLongFileAsync(bench);
    }

    private static async Task CompareAsync(Bench bench, string what, string rate, string channels, string codec)
    {
        var folder = bench.NewFolder($"piano {what}");
        await Spent.ByAsync("bash", "-c", Decode, Piano(), folder, rate, channels, codec);
        await Spent.ByAsync("bash", "-c", """cat "$0"/*.wav""", folder);
        var seconds = await bench.InTurnsAsync(
            async _ => (await Spent.ByAsync(Path.Combine(Bench.Cli, "shelf"), "check", folder)).CpuSeconds,
            async _ => (await Spent.ByAsync("bash", "-c", """sha256sum "$0"/*.wav""", folder)).CpuSeconds);
        var tools = (await Spent.ByAsync("bash", "-c", Tools, folder)).CpuSeconds;
        var bytes = Directory.EnumerateFiles(folder).Sum(f => new FileInfo(f).Length);
        Bench.Say($"{what}: {bytes / 1e6:0} MB: shelf check {seconds[0]:0.00} s of processor, sha256sum {seconds[1]:0.00} s, three tools {tools:0.0} s");
        Add(bench, $"checking {what} ÷ sha256sum", seconds[0] / seconds[1], HashGoal);
        Add(bench, $"checking {what} ÷ ffmpeg ebur128, aubiopitch and sox stats", seconds[0] / tools, ToolsGoal);
    }

    /// <summary>Pink noise: no stretch is like the next, and the true peak may be anywhere.</summary>
    private static async Task MeasureLongFileAsync(Bench bench)
    {
        var folder = bench.NewFolder("long");
        var seconds = bench.IsShort ? LongSeconds / 10 : LongSeconds;
        await Spent.ByAsync("ffmpeg", "-nostdin", "-v", "error", "-y", "-f", "lavfi", "-i", $"anoisesrc=d={seconds}:c=pink:r=48000:s=1", "-ac", "2", "-c:a", "pcm_s24le",
            Path.Combine(folder, "long.wav"));
        var spent = await Spent.ByAsync(Path.Combine(Bench.Cli, "shelf"), "check", folder);
        var megabytes = spent.ResidentBytes / 1e6;
        bench.Add($"memory of checking one recording of {seconds / 60} minutes", megabytes, "MB", $"< {MemoryGoal}", megabytes < MemoryGoal);
        File.Delete(Path.Combine(folder, "long.wav"));
    }

    private static void Add(Bench bench, string what, double ratio, double goal) =>
        bench.Add(what, ratio, "", FormattableString.Invariant($"≤ {goal}"), ratio <= goal);

    private static string Piano()
    {
        var cache = Environment.GetEnvironmentVariable("SHELF_TEST_CACHE") ?? Path.Combine(
            Environment.GetEnvironmentVariable("XDG_CACHE_HOME") ?? Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".cache"),
            "libraryshelf-tests");
        return Path.Combine(cache, "piano", "node_modules", "@audio-samples", "piano-velocity10", "audio");
    }
}

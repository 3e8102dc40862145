using System.Diagnostics;
using System.Globalization;

namespace LibraryShelf.Benchmarks;

/// <summary>One run of the benchmarks: where it may write, the programs it measures, and the figures so far.</summary>
/// <param name="folder">A folder of its own, removed at the end.</param>
/// <param name="isShort">A tenth of the bytes and two rounds: to see that the benchmarks run, not for figures.</param>
/// <param name="isKept">The folder stays, and what a benchmark finds in it that took long to make is used again.</param>
/// <param name="sizes">How many of what it measures a benchmark takes; none: as many as it usually does.</param>
/// <param name="events">Of events that are counted again, only the last so many; null: all.</param>
/// <param name="parts">Of a benchmark with several parts, those that are measured; none: all. "fill": nothing is, and what takes long to make is made for a later run.</param>
internal sealed class Bench(string folder, bool isShort, bool isKept, IReadOnlyList<int> sizes, IReadOnlyList<string> parts, int? events) : IAsyncDisposable
{
    private readonly List<Figure> figures = [];
    private readonly List<ProgramUnderTest> programs = [];

    public string Folder => folder;

    public bool IsShort => isShort;

    public IReadOnlyList<int> Sizes => sizes;

    public int? Events => events;

    public bool Measures(string part) => parts.Count == 0 || parts.Contains(part);

    /// <summary>Rounds of a measurement whose rivals take turns.</summary>
    public int Rounds => isShort ? 2 : 5;

    /// <summary>Bytes of the large library: 10⁹, or a tenth of it in a short run.</summary>
    public long LibraryBytes => isShort ? 100_000_000 : 1_000_000_000;

    /// <summary>Published programs, as tests/bench leaves them.</summary>
    public static string Web => Needed("SHELF_BENCH_WEB");

    public static string Cli => Needed("SHELF_BENCH_CLI");

    /// <param name="isShort">See above.</param>
    /// <param name="within">Where there is room; null: in the system's temporary folder.</param>
    /// <param name="keep">This folder instead, which stays; null: one of its own, which goes.</param>
    /// <param name="sizes">See above.</param>
    /// <param name="parts">See above.</param>
    /// <param name="events">See above.</param>
    public static Bench Open(bool isShort, string? within, string? keep, IReadOnlyList<int> sizes, IReadOnlyList<string> parts, int? events) => new(
        keep is not null ? Directory.CreateDirectory(keep).FullName
            : within is null ? Directory.CreateTempSubdirectory("shelf-bench-").FullName : Directory.CreateDirectory(Path.Combine(within, $"shelf-bench-{Environment.ProcessId}")).FullName,
        isShort, keep is not null, sizes, parts, events);

    public string NewFolder(string name) => Directory.CreateDirectory(Path.Combine(folder, name)).FullName;

    public ProgramUnderTest Start(ProcessStartInfo start)
    {
        var program = ProgramUnderTest.Start(start);
        programs.Add(program);
        return program;
    }

    /// <summary>Seconds of each rival, taken in turns; the median of each.</summary>
    public async Task<double[]> InTurnsAsync(params Func<int, Task<double>>[] rivals)
    {
        var seconds = rivals.Select(_ => new List<double>()).ToList();
        for (var round = 0; round < Rounds; round++)
            for (var i = 0; i < rivals.Length; i++)
                seconds[i].Add(await rivals[i](round));
        return [.. seconds.Select(Median)];
    }

    public void Add(string what, double value, string unit, string goal, bool isMet)
    {
        figures.Add(new Figure(what, value, unit, goal, isMet));
        Console.WriteLine(figures[^1]);
    }

    public static void Say(string text) => Console.WriteLine($"  {text}");

    /// <returns>The exit code: 1 when a goal was missed.</returns>
    public int Report()
    {
        Console.WriteLine();
        foreach (var figure in figures)
            Console.WriteLine(figure);
        var missed = figures.Count(f => !f.IsMet);
        Console.WriteLine($"{figures.Count - missed} goals met, {missed} missed{(isShort ? " (short run: no figures to quote)" : "")}");
        return missed == 0 ? 0 : 1;
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var program in programs)
            await program.DisposeAsync();
        if (!isKept)
            Directory.Delete(folder, recursive: true);
    }

    public static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToList();
        var middle = sorted.Count / 2;
        return sorted.Count % 2 == 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
    }

    private static string Needed(string variable) => Environment.GetEnvironmentVariable(variable)
        ?? throw new InvalidOperationException($"{variable} is not set: run the benchmarks by tests/bench.");

    private sealed record Figure(string What, double Value, string Unit, string Goal, bool IsMet)
    {
        public override string ToString() => string.Create(CultureInfo.InvariantCulture,
            $"{(IsMet ? "met   " : "MISSED")} {What,-66} {Value,10:0.###} {Unit,-4} (goal {Goal})");
    }
}

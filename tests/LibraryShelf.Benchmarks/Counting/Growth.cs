using System.Globalization;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>The same figures of ever larger shelves, side by side, and what each is of the one before.</summary>
internal sealed class Growth
{
    private readonly List<string> sizes = [];
    private readonly List<(string What, string Unit)> rows = [];
    private readonly Dictionary<(string What, string Size), double> figures = [], worsts = [];

    public void Begin(string size) => sizes.Add(size);

    /// <param name="what">Of which figure.</param>
    /// <param name="value">Of looks the median.</param>
    /// <param name="unit">"ms", "s" and so on.</param>
    /// <param name="worst">Of looks the slowest; null: it was looked once.</param>
    public void Add(string what, double value, string unit, double? worst = null)
    {
        if (worst is { } slowest)
            worsts[(what, sizes[^1])] = slowest;
        if (!rows.Contains((what, unit)))
            rows.Add((what, unit));
        figures[(what, sizes[^1])] = value;
        if (unit != "ms")
            Bench.Say(string.Create(CultureInfo.InvariantCulture, $"{what} {value:0.0} {unit}"));
    }

    public void Print()
    {
        Console.WriteLine();
        Console.WriteLine($"  {"downloads",-72}{string.Concat(sizes.Select(s => $"{s,28}"))}");
        foreach (var (what, unit) in rows)
            Console.WriteLine($"  {what,-72}{string.Concat(sizes.Select((s, i) => $"{Said(what, unit, i),28}"))}");
    }

    private string Said(string what, string unit, int at)
    {
        if (!figures.TryGetValue((what, sizes[at]), out var value))
            return "–";
        var ratio = at > 0 && figures.TryGetValue((what, sizes[at - 1]), out var before) && before > 0 ? string.Create(CultureInfo.InvariantCulture, $" (x{value / before:0.0})") : "";
        var worst = worsts.TryGetValue((what, sizes[at]), out var slowest) ? string.Create(CultureInfo.InvariantCulture, $", worst {slowest:0}") : "";
        return string.Create(CultureInfo.InvariantCulture, $"{value:0.#} {unit}{worst}{ratio}");
    }
}

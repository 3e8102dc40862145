using System.Globalization;

namespace LibraryShelf.Benchmarks.Counting;

/// <summary>The same figures of ever larger shelves, side by side, and what each is of the one before.</summary>
internal sealed class Growth
{
    private readonly List<string> sizes = [];
    private readonly List<(string What, string Unit)> rows = [];
    private readonly Dictionary<(string What, string Size), double> figures = [];

    public void Begin(string size) => sizes.Add(size);

    public void Add(string what, double value, string unit)
    {
        if (!rows.Contains((what, unit)))
            rows.Add((what, unit));
        figures[(what, sizes[^1])] = value;
        if (unit != "ms")
            Bench.Say(string.Create(CultureInfo.InvariantCulture, $"{what} {value:0.0} {unit}"));
    }

    public void Print()
    {
        Console.WriteLine();
        Console.WriteLine($"  {"downloads",-66}{string.Concat(sizes.Select(s => $"{s,22}"))}");
        foreach (var (what, unit) in rows)
            Console.WriteLine($"  {what,-66}{string.Concat(sizes.Select((s, i) => $"{Said(what, unit, i),22}"))}");
    }

    private string Said(string what, string unit, int at)
    {
        if (!figures.TryGetValue((what, sizes[at]), out var value))
            return "–";
        var ratio = at > 0 && figures.TryGetValue((what, sizes[at - 1]), out var before) && before > 0 ? string.Create(CultureInfo.InvariantCulture, $" (x{value / before:0.0})") : "";
        return string.Create(CultureInfo.InvariantCulture, $"{value:0.#} {unit}{ratio}");
    }
}

using System.Globalization;
using LibraryShelf.Benchmarks;
using LibraryShelf.Benchmarks.Checking;
using LibraryShelf.Benchmarks.Counting;
using LibraryShelf.Benchmarks.Dropping;
using LibraryShelf.Benchmarks.Looking;
using LibraryShelf.Benchmarks.Paying;
using LibraryShelf.Benchmarks.Recording;
using LibraryShelf.Benchmarks.Sending;
using LibraryShelf.Benchmarks.Serving;

[assembly: System.Runtime.Versioning.SupportedOSPlatform("linux")]

// Prints ratios measured in one run: absolute times say more about the machine than about the shelf.
var all = new Dictionary<string, Func<Bench, Task>>(StringComparer.Ordinal)
{
    ["links"] = LinkBench.RunAsync,
    ["events"] = EventBench.RunAsync,
    ["payments"] = PaymentsBench.RunAsync,
    ["drop"] = DropBench.RunAsync,
    ["numbers"] = NumbersBench.RunAsync,
    ["starts"] = StartsBench.RunAsync,
    ["serve"] = ServeBench.RunAsync,
    ["update"] = UpdateBench.RunAsync,
    ["slow"] = SlowClientsBench.RunAsync,
    ["check"] = CheckBench.RunAsync,
    ["sheet"] = SheetBench.RunAsync,
    ["shelf"] = ShelfBench.RunAsync,
    ["compare"] = CompareBench.RunAsync,
    ["send"] = SendBench.RunAsync,
};
var sizes = args.Where(a => int.TryParse(a, NumberStyles.None, CultureInfo.InvariantCulture, out _)).ToList();
var wanted = args.Where(a => !a.StartsWith("--", StringComparison.Ordinal)).Except(sizes).ToList();
if (wanted.Except(all.Keys, StringComparer.Ordinal).FirstOrDefault() is { } unknown)
{
    Console.Error.WriteLine($"There is no benchmark \"{unknown}\". There are: {string.Join(", ", all.Keys)}.");
    return 2;
}
await using var bench = Bench.Open(args.Contains("--short"), Said("--in="), Said("--keep="), sizes.ConvertAll(s => int.Parse(s, CultureInfo.InvariantCulture)), Said("--parts=")?.Split(',') ?? [], Said("--events=") is { } most ? int.Parse(most, CultureInfo.InvariantCulture) : null);
foreach (var (name, run) in all)
    if (wanted.Count == 0 || wanted.Contains(name))
        await run(bench);
return bench.Report();

string? Said(string option) => Array.Find(args, a => a.StartsWith(option, StringComparison.Ordinal))?[option.Length..];

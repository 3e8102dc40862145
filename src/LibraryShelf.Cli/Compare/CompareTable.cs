using System.Globalization;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Compare;

/// <summary>A comparison for people: every change with its keys and what is to be said of it, then the proposed number and why, then what an update would weigh.</summary>
internal sealed class CompareTable(ShelfConsole console, CompareJson outcome, NoteNaming naming)
{
    private const int WidestPath = 40, KindWidth = 11;
    private readonly int pathWidth = Math.Min(WidestPath, outcome.Changes.Select(c => c.Path?.Length ?? 0).Append("Where".Length).Max());

    /// <param name="knowsPlayers">Whether what both open in was compared.</param>
    public void Print(bool knowsPlayers)
    {
        if (outcome.Changes.Count == 0)
        {
            console.Say("Nothing differs.");
            return;
        }
        console.Say(Row("What", "Where", "Keys", ""));
        foreach (var change in outcome.Changes)
            console.Say(Row(KindOf(change.Kind), Shortened(change.Path ?? "-"), KeysOf(change.Keys ?? []), WordsOf(change)));
        console.Say("");
        console.Say($"Proposed number: {outcome.Proposed.Number}{PartOf(outcome.Proposed.Bump)}");
        foreach (var reason in outcome.Proposed.Because)
            console.Say($"  {reason}");
        if (!knowsPlayers)
            console.Say("  What it opens in is not known here, so nothing is said of it: only sealed versions name their players.");
        console.Say($"An update is about {Bytes(outcome.Update.Bytes)}, the whole library {Bytes(outcome.Update.FullBytes)}.");
    }

    private string Row(string kind, string path, string keys, string words) =>
        $"{kind,-KindWidth}  {path.PadRight(pathWidth)}  {keys,-9}  {words}".TrimEnd();

    private static string WordsOf(CompareJson.ChangePart change)
    {
        var parts = new List<string>();
        if (change.GainDb is { } gain)
            parts.Add(string.Create(CultureInfo.InvariantCulture, $"{gain:+0.0##;-0.0##} dB"));
        if (!string.IsNullOrEmpty(change.Words))
            parts.Add(change.Words);
        if (change.From is { } from)
            parts.Add($"was {from}");
        return string.Join(", ", parts);
    }

    private string KeysOf(IReadOnlyList<int> keys) => keys.Count switch
    {
        0 => "-",
        1 => naming.Name(keys[0]),
        _ => $"{naming.Name(keys[0])}–{naming.Name(keys[^1])}",
    };

    private static string KindOf(ChangeKind kind) => kind == ChangeKind.ReRecorded ? "re-recorded" : kind.ToString().ToLowerInvariant();

    private static string PartOf(Bump bump) => bump == Bump.None ? "" : $" ({bump.ToString().ToLowerInvariant()})";

    /// <summary>The end of a long path tells recordings apart.</summary>
    private string Shortened(string path) => path.Length <= pathWidth ? path : "…" + path[^(pathWidth - 1)..];

    private static string Bytes(long bytes) => bytes switch
    {
        >= 1_000_000_000 => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e9:0.0} GB"),
        >= 1_000_000 => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e6:0.0} MB"),
        _ => string.Create(CultureInfo.InvariantCulture, $"{bytes / 1e3:0.0} kB"),
    };
}

using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Check;

/// <summary>The check for people: what was counted, then the findings, worst first, in three columns.</summary>
internal static class CheckTable
{
    private const int WidestPath = 44;

    public static void Print(ShelfConsole console, Verdict verdict)
    {
        var count = verdict.Sheet.Count;
        console.Say($"{Plural(count.Recordings, "recording")}, {Plural(count.Keys, "key")}{RangeOf(count)}, {Plural(count.Layers, "layer")}, {Plural(count.Takes, "take")}");
        if (count.Articulations.Count > 0)
            console.Say($"ways of playing: {string.Join(", ", count.Articulations)}");
        console.Say("");
        var width = Math.Min(WidestPath, verdict.Sheet.Findings.Select(f => WhereOf(f).Length).DefaultIfEmpty().Max());
        foreach (var finding in verdict.Sheet.Findings)
            console.Say($"{WordsOf(finding.Severity),-12}  {WhereOf(finding).PadRight(width)}  {finding.Message} [{finding.Code}]");
        if (verdict.Sheet.Findings.Count > 0)
            console.Say("");
        console.Say($"{verdict.MustFix} must fix, {verdict.ListenAgain} listen again, {Plural(verdict.Fine, "recording")} fine");
    }

    private static string WhereOf(Finding finding) => finding.Path ?? "the library";

    private static string RangeOf(LibraryCount count) =>
        count is { LowestKey: { } low, HighestKey: { } high } ? $" ({NoteNames.Name(low)} to {NoteNames.Name(high)})" : "";

    private static string WordsOf(Severity severity) => severity switch
    {
        Severity.MustFix => "must fix",
        Severity.ListenAgain => "listen again",
        _ => "fine",
    };

    private static string Plural(int count, string word) => count == 1 ? $"1 {word}" : $"{count} {word}s";
}

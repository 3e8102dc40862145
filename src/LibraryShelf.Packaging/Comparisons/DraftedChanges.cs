using System.Text;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// What changed in plain sentences, Markdown under the headings of Keep a Changelog 1.1.0 (https://keepachangelog.com/en/1.1.0/): a beginning
/// for the maker, who alone knows why.
/// </summary>
public static class DraftedChanges
{
    /// <summary>"" when nothing differs. Line feeds, none at the end.</summary>
    public static string Write(Comparison comparison, NoteNaming naming)
    {
        ArgumentNullException.ThrowIfNull(comparison);
        var text = new StringBuilder();
        Section(text, T("Added"), comparison, naming, c => c.Kind == ChangeKind.Added);
        Section(text, T("Changed"), comparison, naming, c => c.Kind is not (ChangeKind.Added or ChangeKind.Removed));
        Section(text, T("Removed"), comparison, naming, c => c.Kind == ChangeKind.Removed);
        return text.ToString().TrimEnd('\n');
    }

    private static void Section(StringBuilder text, string heading, Comparison comparison, NoteNaming naming, Func<Change, bool> which)
    {
        var lines = comparison.Changes.Where(which).GroupBy(c => (c.Kind, IsTake: IsTake(c), c.Articulation))
            .OrderBy(g => g.Key.Kind).ThenBy(g => g.Key.Articulation, StringComparer.Ordinal)
            .SelectMany(g => g.Key.IsTake ? [Takes(g.Key.Kind, g.Key.Articulation, [.. g], naming)] : g.Select(Single)).ToList();
        if (lines.Count == 0)
            return;
        text.Append($"### {heading}\n\n");
        foreach (var line in lines)
            text.Append($"- {line}\n");
        text.Append('\n');
    }

    private static bool IsTake(Change change) => change.Path is not null && FileKinds.Of(change.Path) == FileKind.Recording;

    /// <summary>"Re-recorded: 6 takes between C3 and G3 (rolled)."</summary>
    private static string Takes(ChangeKind kind, string way, List<Change> changes, NoteNaming naming)
    {
        List<string> keys = [.. changes.SelectMany(c => c.Keys).Distinct().Order().Select(naming.Name)];
        var count = Words.Count(changes.Count, "take", "takes");
        var placed = keys.Count switch
        {
            0 => count,
            1 => T($"{count} on {keys[0]}"),
            _ => T($"{count} between {keys[0]} and {keys[^1]}"),
        };
        var takes = way.Length > 0 ? $"{placed} ({way})" : placed;
        return kind switch
        {
            ChangeKind.Added or ChangeKind.Removed => Alone(count, keys, way),
            ChangeKind.ReRecorded => T($"Re-recorded: {takes}."),
            ChangeKind.Level => LevelOf(changes, takes),
            ChangeKind.Trimmed => T($"Trimmed or faded: {takes}."),
            ChangeKind.Moved => T($"Renamed: {takes}."),
            _ => T($"Saved anew with the same sound: {takes}."),
        };
    }

    /// <summary>A whole sentence, because the heading above it says what was done: "6 takes between C3 and G3 (rolled)."</summary>
    private static string Alone(Counted count, List<string> keys, string way) => (keys.Count, way.Length) switch
    {
        (0, 0) => T($"{count}."),
        (0, _) => T($"{count} ({way})."),
        (1, 0) => T($"{count} on {keys[0]}."),
        (1, _) => T($"{count} on {keys[0]} ({way})."),
        (_, 0) => T($"{count} between {keys[0]} and {keys[^1]}."),
        _ => T($"{count} between {keys[0]} and {keys[^1]} ({way})."),
    };

    private static string LevelOf(List<Change> changes, string takes)
    {
        var (least, most) = (changes.Min(c => c.GainDb ?? 0), changes.Max(c => c.GainDb ?? 0));
        return (least, most) switch
        {
            ( > 0, _) => T($"Louder by {Span(least, most)} dB: {takes}."),
            (_, < 0) => T($"Softer by {Span(-most, -least)} dB: {takes}."),
            _ => T($"Louder or softer: {takes}."),
        };
    }

    private static string Span(double least, double most) =>
        Words.Number(least) == Words.Number(most) ? Words.Number(least) : T($"{Words.Number(least)} to {Words.Number(most)}");

    private static string Single(Change change) => change.Kind switch
    {
        ChangeKind.Requirement => $"{change.Words}.",
        ChangeKind.Remapped => $"`{change.Path}`: {change.Words}.",
        ChangeKind.Moved => T($"`{change.From}` is `{change.Path}` now."),
        ChangeKind.Added or ChangeKind.Removed => change.Articulation.Length > 0 ? T($"`{change.Path}`, the way of playing “{change.Articulation}”.") : $"`{change.Path}`.",
        _ => $"`{change.Path}`: {(change.Words.Length > 0 ? change.Words : T("changed"))}.",
    };
}

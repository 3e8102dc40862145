using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>The rows of a sheet's table as a view asks for them: filtered, sorted, a page of them.</summary>
internal sealed class SheetTable
{
    public const int PageSize = 100;

    public SheetTable(SheetReading sheet, SheetView view, SheetWords words)
    {
        View = view;
        Columns = SheetColumn.Of(sheet.Release.Library.IsPitched);
        var found = sheet.Recordings.Where(r => Matches(r, words)).ToList();
        ShowsFine = view.All || view.Verdict is not null || !string.IsNullOrWhiteSpace(view.Find);
        var rows = found.Where(r => view.Verdict is { } verdict ? r.Verdict == verdict : ShowsFine || r.Verdict != SheetVerdict.Fine).ToList();
        Folded = ShowsFine ? [] : found.FindAll(r => r.Verdict == SheetVerdict.Fine);
        Total = rows.Count;
        Pages = Math.Max(1, (Total + PageSize - 1) / PageSize);
        Page = Math.Clamp(view.Page, 1, Pages);
        Rows = [.. Sorted(rows).Skip((Page - 1) * PageSize).Take(PageSize)];
    }

    public SheetView View { get; }

    public IReadOnlyList<SheetColumn> Columns { get; }

    public IReadOnlyList<SheetRecording> Rows { get; }

    /// <summary>Fine recordings that are told of in one line.</summary>
    public IReadOnlyList<SheetRecording> Folded { get; }

    public bool ShowsFine { get; }

    public int Total { get; }

    public int Page { get; }

    public int Pages { get; }

    private string SortName => View.Sort?.TrimStart('-') ?? "";

    private bool IsDown => View.Sort?.StartsWith('-') == true;

    /// <summary>For aria-sort; null when the rows are not sorted by this column.</summary>
    public string? AriaSort(string name) => SortName != name ? null : IsDown ? "descending" : "ascending";

    /// <summary>The view that a press on a column's name leads to: sorted by it, the other way round when it was already.</summary>
    public string SortBy(string name) => (View with { Sort = SortName == name && !IsDown ? "-" + name : name, Page = 1 }).Query;

    private bool Matches(SheetRecording recording, SheetWords words)
    {
        var find = View.Find?.Trim() ?? "";
        return find.Length == 0
            || (SheetWords.KeyOf(recording.Place) is { } key && IsName(find, words.Note(key)))
            || (!IsName(find, null) && recording.Path.Contains(find, StringComparison.OrdinalIgnoreCase));
    }

    /// <summary>Is <paramref name="text"/> the key's name, sharp or flat as typed; with null, is it any key's name?</summary>
    private static bool IsName(string text, string? name) =>
        NoteNames.TryParse(text, out var typed) && (name is null || (NoteNames.TryParse(name, out var key) && key == typed));

    /// <summary>Within a verdict as the sheet has them; what was not measured comes last either way.</summary>
    private IEnumerable<SheetRecording> Sorted(List<SheetRecording> rows)
    {
        var worstFirst = rows.OrderBy(r => r.Verdict).ThenBy(r => r.Findings.Count > 0 ? r.Findings.Min(f => f.Order) : int.MaxValue);
        if (SortName == "recording")
        {
            var byPlace = rows.OrderBy(r => SheetWords.KeyOf(r.Place) ?? int.MaxValue).ThenBy(r => r.Place?.Layer).ThenBy(r => r.Place?.Take)
                .ThenBy(r => r.Path, StringComparer.Ordinal);
            return IsDown ? byPlace.Reverse() : byPlace;
        }
        if (Columns.FirstOrDefault(c => c.Name == SortName) is not { } column)
            return SortName == "verdict" && IsDown ? worstFirst.Reverse() : worstFirst;
        var measured = worstFirst.OrderBy(r => column.Get(r) is null);
        return IsDown ? measured.ThenByDescending(column.Get) : measured.ThenBy(column.Get);
    }
}

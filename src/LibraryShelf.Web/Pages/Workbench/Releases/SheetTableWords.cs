using LibraryShelf.Core.Checking;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>Sentences around the table.</summary>
internal static class SheetTableWords
{
    public static string Caption(SheetTable table, SheetReading sheet)
    {
        var (recordings, rows) = (Plural.Of(sheet.Recordings.Count, "recording"), Plural.Of(table.Total, "row"));
        var caption = table.Pages > 1
            ? T($"{recordings} in all, {rows} here, page {table.Page} of {table.Pages}. A figure that will not do is bold and underlined.")
            : T($"{recordings} in all, {rows} here. A figure that will not do is bold and underlined.");
        return sheet.Release.Library.IsPitched ? $"{caption} {T("Pitch is a plain estimate and not judged by the cent.")}" : caption;
    }

    public static string Folded(SheetTable table, SheetReading sheet) =>
        table.Folded.Count == sheet.Recordings.Count ? (table.Folded.Count == 1 ? T("The one recording") : T($"All {table.Folded.Count} recordings"))
        : table.Folded.Count == 1 ? T("The other recording") : T($"The other {table.Folded.Count} recordings");

    /// <summary>What the wave shows, in words.</summary>
    public static string Wave(SheetRecording recording)
    {
        if (recording.Facts is not { SampleRate: > 0 } facts)
            return "";
        List<string> parts = [T($"{(double)facts.Frames / facts.SampleRate:0.00} seconds")];
        if (facts.LeadInMs is { } leadIn)
            parts.Add(T($"the sound starts at {SheetWords.Figure(leadIn, 0)} ms"));
        if (facts.ClippedAt.Count > 0)
        {
            var first = string.Join(", ", facts.ClippedAt.Take(3).Select(s => SheetWords.Figure(s * 1000, 0)));
            parts.Add(facts.ClippedRuns == 1 ? T($"clipped once, first at {first} ms") : T($"clipped {facts.ClippedRuns} times, first at {first} ms"));
        }
        if (facts.Loops.Count > 0)
            parts.Add(T($"loop from {(double)facts.Loops[0].Start / facts.SampleRate:0.00} to {(double)facts.Loops[0].End / facts.SampleRate:0.00} s"));
        return string.Join("; ", parts) + ".";
    }
}

using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Check;

/// <summary>
/// The shape "libraryshelf/check/1". What was not measured is left out. In the summary, mustFix and listenAgain count findings, fine
/// counts recordings of which nothing is to be said.
/// </summary>
internal sealed record CheckJson(
    string Schema, IReadOnlyList<CheckJson.Recording> Recordings, CheckJson.LibraryPart Library, CheckJson.SummaryPart Summary)
{
    internal sealed record Recording(
        string Path, string Sha256, Format? Format, Levels? Levels, Declared? Declared, IReadOnlyList<Found> Findings);

    internal sealed record Format(string Container, string? Coding, int? SampleRate, int? Bits, int? Channels, long? Frames);

    /// <summary>The peak is left out when every sample is zero.</summary>
    internal sealed record Levels(double? SamplePeakDbfs, int ClippedRuns);

    /// <summary>The note's name (C4 is MIDI 60) and who says so: mapping, smpl or name.</summary>
    internal sealed record Declared(string Note, string From);

    internal sealed record Found(string Code, Severity Severity, string? Path, string Message);

    internal sealed record LibraryPart(
        int Keys, string? LowestKey, string? HighestKey, int Layers, int Takes, IReadOnlyList<string> Articulations, IReadOnlyList<Found> Findings);

    internal sealed record SummaryPart(int MustFix, int ListenAgain, int Fine);

    public static CheckJson Of(Verdict verdict)
    {
        var recordings = verdict.Recordings.Select(r => r.Path).ToHashSet(StringComparer.Ordinal);
        var ofRecordings = verdict.Sheet.Findings.Where(f => f.Path is not null && recordings.Contains(f.Path)).ToLookup(f => f.Path!, StringComparer.Ordinal);
        var ofLibrary = verdict.Sheet.Findings.Where(f => f.Path is null || !recordings.Contains(f.Path));
        var count = verdict.Sheet.Count;
        return new CheckJson(
            "libraryshelf/check/1",
            [.. verdict.Recordings.Select(r => Of(r, verdict.Sheet.Notes.GetValueOrDefault(r.Path), ofRecordings[r.Path]))],
            new LibraryPart(
                count.Keys, NameOf(count.LowestKey), NameOf(count.HighestKey), count.Layers, count.Takes, count.Articulations,
                [.. ofLibrary.Select(f => new Found(f.Code, f.Severity, f.Path, f.Message))]),
            new SummaryPart(verdict.MustFix, verdict.ListenAgain, verdict.Fine));
    }

    private static Recording Of(CheckedRecording recording, DeclaredNote? note, IEnumerable<Finding> findings) => new(
        recording.Path,
        recording.Sha256,
        FormatOf(recording.Facts),
        recording.Facts.Frames > 0 ? new Levels(Rounded(recording.Facts.SamplePeakDbfs), recording.Facts.ClippedRuns) : null,
        note is null ? null : new Declared(NoteNames.Name(note.Note), note.From),
        [.. findings.Select(f => new Found(f.Code, f.Severity, null, f.Message))]);

    private static Format? FormatOf(RecordingFacts facts) =>
        facts.Container.Length == 0 ? null
        : facts.Coding.Length == 0 ? new Format(facts.Container, null, null, null, null, null)
        : new Format(facts.Container, facts.Coding, facts.SampleRate, facts.Bits, facts.Channels, facts.Frames);

    /// <summary>A ten-thousandth of a decibel is far below anything that can be heard or relied on.</summary>
    private static double? Rounded(double? decibels) => decibels is { } value ? Math.Round(value, 4) : null;

    private static string? NameOf(int? key) => key is { } note ? NoteNames.Name(note) : null;
}

using LibraryShelf.Audio;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>A recording with its SHA-256 and what was measured.</summary>
public sealed record MeasuredRecording(string Path, string Sha256, RecordingFacts Facts);

/// <summary>
/// A sheet in the shape "libraryshelf/check/1", as `shelf check --json` and the check sheet's own download give it. What could not be measured
/// is left out or null, never a number made up. In the summary, mustFix and listenAgain count findings, fine counts recordings of which nothing
/// is to be said.
/// </summary>
public sealed record CheckJson(
    string Schema, IReadOnlyList<CheckJson.Recording> Recordings, CheckJson.LibraryPart Library, CheckJson.SummaryPart Summary)
{
    public sealed record Recording(
        string Path, string Sha256, Format? Format, Levels? Levels, Time? Time, double? BrightnessHz, Pitch? Pitch, Declared? Declared,
        Loop? Loop, IReadOnlyList<Found> Findings);

    public sealed record Format(string Container, string? Coding, int? SampleRate, int? Bits, int? Channels, long? Frames);

    /// <summary>dBFS, dBTP and LUFS; null when every sample is zero, or too short for the measure. DC offset is a share of full scale per channel.</summary>
    public sealed record Levels(
        double? SamplePeakDbfs, double? TruePeakDbtp, double? LoudnessLufs, double? MomentaryMaxLufs, double? LoudestRmsDbfs,
        IReadOnlyList<double> DcOffset, int ClippedRuns, double? NoiseFloorDbfs);

    /// <summary>Milliseconds; the tail in dBFS.</summary>
    public sealed record Time(double? LeadInMs, double? AttackMs, double? Decay20Ms, double? Decay60Ms, double? TailDbfs);

    /// <summary>A plain estimate: whole MIDI note, and the remainder in cents, −50 to 50. BeatHz is not measured yet.</summary>
    public sealed record Pitch(double Hz, int Note, double Cents, double Confidence, double? BeatHz);

    /// <summary>The whole MIDI note and who says so: mapping, smpl, inst or name.</summary>
    public sealed record Declared(int Note, string From);

    /// <summary>The first loop in the file, sample frames, the end played too. SeamDb is not measured yet.</summary>
    public sealed record Loop(long Start, long End, double? SeamDb);

    /// <summary>The path is given in the library's own findings, about files that are no recordings; null elsewhere.</summary>
    public sealed record Found(string Code, Severity Severity, string? Path, string Message);

    /// <summary>Keys as MIDI notes.</summary>
    public sealed record LibraryPart(
        int Keys, int? LowestKey, int? HighestKey, int Layers, int Takes, IReadOnlyList<string> Articulations, IReadOnlyList<Found> Findings);

    public sealed record SummaryPart(int MustFix, int ListenAgain, int Fine);

    /// <param name="measured">In the order in which they are to stand.</param>
    /// <param name="findings">Those that count: excused ones are left out by the caller, or not.</param>
    /// <param name="count">What was counted over the folder.</param>
    /// <param name="places">Their declared notes are told.</param>
    public static CheckJson Of(
        IReadOnlyList<MeasuredRecording> measured, IReadOnlyList<Finding> findings, LibraryCount count, IEnumerable<RecordingPlace> places)
    {
        ArgumentNullException.ThrowIfNull(findings);
        ArgumentNullException.ThrowIfNull(count);
        var recordings = measured.Select(r => r.Path).ToHashSet(StringComparer.Ordinal);
        var ofRecordings = findings.Where(f => f.Path is not null && recordings.Contains(f.Path)).ToLookup(f => f.Path!, StringComparer.Ordinal);
        var placeOf = places.ToDictionary(p => p.Path, StringComparer.Ordinal);
        return new CheckJson(
            "libraryshelf/check/1",
            [.. measured.Select(r => Of(r, placeOf.GetValueOrDefault(r.Path), ofRecordings[r.Path]))],
            new LibraryPart(
                count.Keys, count.LowestKey, count.HighestKey, count.Layers, count.Takes, count.Articulations,
                [.. findings.Where(f => f.Path is null || !recordings.Contains(f.Path)).Select(f => new Found(f.Code, f.Severity, f.Path, f.Message))]),
            new SummaryPart(
                findings.Count(f => f.Severity == Severity.MustFix),
                findings.Count(f => f.Severity == Severity.ListenAgain),
                measured.Count(r => !ofRecordings[r.Path].Any())));
    }

    private static Recording Of(MeasuredRecording recording, RecordingPlace? place, IEnumerable<Finding> findings)
    {
        var facts = recording.Facts;
        var hasSound = facts.Frames > 0;
        return new Recording(
            recording.Path,
            recording.Sha256,
            FormatOf(facts),
            hasSound ? LevelsOf(facts) : null,
            hasSound ? new Time(Rounded(facts.LeadInMs), Rounded(facts.AttackMs), Rounded(facts.Decay20Ms), Rounded(facts.Decay60Ms), Rounded(facts.TailDbfs)) : null,
            Rounded(facts.BrightnessHz),
            facts.Pitch is { } pitch ? new Pitch(Math.Round(pitch.Hz, 3), pitch.Note, Math.Round(pitch.Cents, 2), Math.Round(pitch.Confidence, 3), null) : null,
            place is { Note: { } note, NoteFrom: { } from } ? new Declared(note, from) : null,
            facts.Loops.Count > 0 ? new Loop(facts.Loops[0].Start, facts.Loops[0].End, null) : null,
            [.. findings.Select(f => new Found(f.Code, f.Severity, null, f.Message))]);
    }

    private static Levels LevelsOf(RecordingFacts facts) => new(
        Rounded(facts.SamplePeakDbfs), Rounded(facts.TruePeakDbtp), Rounded(facts.LoudnessLufs), Rounded(facts.MomentaryMaxLufs),
        Rounded(facts.LoudestRmsDbfs), [.. facts.DcOffset.Select(d => Math.Round(d, 7))], facts.ClippedRuns, Rounded(facts.NoiseFloorDbfs));

    private static Format? FormatOf(RecordingFacts facts) =>
        facts.Container.Length == 0 ? null
        : facts.Coding.Length == 0 ? new Format(facts.Container, null, null, null, null, null)
        : new Format(facts.Container, facts.Coding, facts.SampleRate, facts.Bits, facts.Channels, facts.Frames);

    /// <summary>A ten-thousandth of a decibel, millisecond or hertz is far below anything that can be heard or relied on.</summary>
    private static double? Rounded(double? value) => value is { } number ? Math.Round(number, 4) : null;
}

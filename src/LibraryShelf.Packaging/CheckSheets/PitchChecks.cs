using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// A wrong root, by the plain pitch estimate alone: only what is far off and confident is told, and never as a must fix. An estimate that
/// sits on a partial of the declared note (an octave, a twelfth …) says nothing: struck things are often heard by another partial.
/// </summary>
internal static class PitchChecks
{
    /// <summary>Below this the estimate is passed over (0 to 1). Common practice, no source.</summary>
    private const double LeastConfidence = 0.9;

    /// <summary>Semitones off before it is told: beyond any stretched or mistuned string, short of the next note but one. Common practice, no source.</summary>
    private const double FarSemitones = 0.7;

    /// <summary>
    /// Above E7 a stretched string may sound nearly a semitone sharp of equal temperament, and the plain estimate adds its own: a real piano's
    /// C8 came out 96 cents high.
    /// </summary>
    private const int HighestPlainNote = 100;

    private const double FarSemitonesAbove = 1.5;

    /// <summary>Partials 2 to 8 of the declared note, and the note as such a partial of the estimate: 12·log2(n) semitones.</summary>
    private static readonly double[] Partials = [.. Enumerable.Range(2, 7).Select(n => 12 * Math.Log2(n))];

    public static void Judge(IEnumerable<PlacedRecording> recordings, IReadOnlyList<SfzMapping> mappings, NoteNaming naming, Findings findings)
    {
        var retuned = mappings.SelectMany(m => m.Regions).Where(r => r.Sample is not null && r.IsRetuned).Select(r => r.Sample!).ToHashSet(StringComparer.Ordinal);
        foreach (var recording in recordings.Where(r => !r.Place.IsLift && !retuned.Contains(r.Path)))
        {
            if (recording is not { Place.Note: { } note, Facts.Pitch: { Confidence: >= LeastConfidence } pitch })
                continue;
            var off = pitch.Note + pitch.Cents / 100 - note;
            if (Math.Abs(off) < (note > HighestPlainNote ? FarSemitonesAbove : FarSemitones) || Array.Exists(Partials, p => Math.Abs(Math.Abs(off) - p) < FarSemitones))
                continue;
            var heard = pitch.Note is >= 0 and <= 127 ? naming.Name(pitch.Note) : T("another note");
            findings.Add(FindingCodes.PitchFar, recording.Path, recording.Place.NoteFrom switch
            {
                "name" => T($"It is said to be {naming.Name(note)} (name), but a plain estimate hears {heard}, about {Words.Number(pitch.Hz)} Hz. Listen: if the note is wrong, set it right in the name."),
                "mapping" => T($"It is said to be {naming.Name(note)} (mapping), but a plain estimate hears {heard}, about {Words.Number(pitch.Hz)} Hz. Listen: if the note is wrong, set it right in the mapping."),
                var chunk => T($"It is said to be {naming.Name(note)} ({chunk}), but a plain estimate hears {heard}, about {Words.Number(pitch.Hz)} Hz. Listen: if the note is wrong, set it right in the mapping."),
            });
        }
    }
}

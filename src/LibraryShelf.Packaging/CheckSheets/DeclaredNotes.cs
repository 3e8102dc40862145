using LibraryShelf.Audio;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>The note a recording is said to be, MIDI 0 to 127, and who says so: mapping, smpl, inst or name.</summary>
public sealed record DeclaredNote(int Note, string From);

/// <summary>Which note each recording is said to be, and where two sayings differ.</summary>
internal static class DeclaredNotes
{
    private const int Octave = 12;

    /// <summary>The mapping is believed first, then the file's smpl or inst chunk, then its name.</summary>
    public static IReadOnlyDictionary<string, DeclaredNote> Of(
        IReadOnlyDictionary<string, RecordingFacts> recordings, IReadOnlyList<SfzMapping> mappings, NoteNaming naming, Findings findings)
    {
        var mapped = KeyCenters(mappings);
        var isSet = ChunkIsSet(recordings, mapped);
        var notes = new Dictionary<string, DeclaredNote>(StringComparer.Ordinal);
        var named = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach (var (path, facts) in recordings)
        {
            var chunk = isSet ? ChunkNote(facts) : null;
            var centers = mapped.GetValueOrDefault(path) ?? [];
            if (chunk is { } own && centers.Count > 0 && !centers.Contains(own.Note))
                findings.Add(FindingCodes.NoteDisagrees, path,
                    T($"The mapping says {Words.And(centers.Order().Select(n => NameOf(n, naming)))}, the file itself ({own.From} chunk) says {NameOf(own.Note, naming)}; the mapping is believed. Listen which is right, and set the other alike."));
            var name = naming.FromFileName(path);
            if (Choose(centers, chunk, name) is not { } declared)
                continue;
            notes[path] = declared;
            if (name is { } said && declared.From != "name")
                named[path] = said;
        }
        JudgeNames(notes, named, naming, findings);
        return notes;
    }

    private static DeclaredNote? Choose(HashSet<int> centers, DeclaredNote? chunk, int? named) =>
        centers.Count == 1 && centers.First() is >= 0 and <= 127 and var center ? new DeclaredNote(center, "mapping")
        : chunk ?? (named is { } name ? new DeclaredNote(name, "name") : null);

    private static DeclaredNote? ChunkNote(RecordingFacts facts) =>
        facts.SmplNote is > 0 and <= 127 and var smpl ? new DeclaredNote(smpl, "smpl")
        : facts.InstNote is > 0 and <= 127 and var inst ? new DeclaredNote(inst, "inst")
        : null;

    /// <summary>
    /// Not every name that looks like a note is one, so names are held against the other sayings only where most agree with them; all an octave
    /// off means another middle C.
    /// </summary>
    private static void JudgeNames(Dictionary<string, DeclaredNote> notes, Dictionary<string, int> named, NoteNaming naming, Findings findings)
    {
        if (named.Count == 0)
            return;
        var usual = named.GroupBy(n => n.Value - notes[n.Key].Note).OrderByDescending(g => g.Count()).First();
        if (2 * usual.Count() <= named.Count || Math.Abs(usual.Key) is not (0 or Octave))
            return;
        var middleC = naming.MiddleCOctave + Math.Sign(usual.Key);
        if (middleC is not (3 or 4))
            return;
        if (usual.Key != 0)
            findings.Add(FindingCodes.NamesOctaveOff, null, usual.Key > 0
                ? T($"The names of {Words.Recordings(usual.Count())} are an octave above what the mapping or the files themselves say. If middle C is C{middleC} in these names, set that in the library’s limits.")
                : T($"The names of {Words.Recordings(usual.Count())} are an octave below what the mapping or the files themselves say. If middle C is C{middleC} in these names, set that in the library’s limits."));
        foreach (var (path, name) in named.Where(n => n.Value - notes[n.Key].Note != usual.Key))
            findings.Add(FindingCodes.NoteDisagrees, path, notes[path] is { From: "mapping", Note: var ofMapping }
                ? T($"The name says {NameOf(name, naming)}, the mapping says {NameOf(ofMapping, naming)} and is believed. Listen which is right, and set the other alike.")
                : T($"The name says {NameOf(name, naming)}, the file itself ({notes[path].From} chunk) says {NameOf(notes[path].Note, naming)} and is believed. Listen which is right, and set the other alike."));
    }

    /// <summary>Key centres by recording; retuned regions say nothing of the recording's own note.</summary>
    private static Dictionary<string, HashSet<int>> KeyCenters(IReadOnlyList<SfzMapping> mappings) =>
        mappings.SelectMany(m => m.Regions)
            .Where(r => r.Sample is not null && !r.IsRetuned)
            .GroupBy(r => r.Sample!, StringComparer.Ordinal)
            .ToDictionary(g => g.Key, g => g.Select(r => r.KeyCenter).ToHashSet(), StringComparer.Ordinal);

    /// <summary>
    /// Many programs write the same note (60 or 0) into every file. When all say one note and the mapping knows several, the chunk was
    /// never set, and nothing is said of it.
    /// </summary>
    private static bool ChunkIsSet(IReadOnlyDictionary<string, RecordingFacts> recordings, Dictionary<string, HashSet<int>> mapped)
    {
        var said = recordings.Values.Select(f => ChunkNote(f)?.Note).OfType<int>().Distinct().Take(2).Count();
        return said > 1 || mapped.Values.SelectMany(c => c).Distinct().Take(2).Count() < 2;
    }

    private static string NameOf(int note, NoteNaming naming) => note is >= 0 and <= 127 ? naming.Name(note) : T($"key {note}");
}

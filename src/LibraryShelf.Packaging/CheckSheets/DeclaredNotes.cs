using LibraryShelf.Audio;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>The note a recording is said to be, MIDI 0 to 127, and who says so: mapping, smpl or name.</summary>
public sealed record DeclaredNote(int Note, string From);

/// <summary>Which note each recording is said to be, and where two sayings differ.</summary>
internal static class DeclaredNotes
{
    /// <summary>The mapping is believed first, then the file's smpl chunk, then its name.</summary>
    public static IReadOnlyDictionary<string, DeclaredNote> Of(
        IReadOnlyDictionary<string, RecordingFacts> recordings, IReadOnlyList<SfzMapping> mappings, Findings findings)
    {
        var mapped = KeyCenters(mappings);
        var smplIsSet = SmplIsSet(recordings, mapped);
        var notes = new Dictionary<string, DeclaredNote>(StringComparer.Ordinal);
        foreach (var (path, facts) in recordings)
        {
            var smpl = smplIsSet && facts.SmplNote is > 0 ? facts.SmplNote : null;
            var centers = mapped.GetValueOrDefault(path) ?? [];
            if (smpl is { } note && centers.Count > 0 && !centers.Contains(note))
                findings.Add(FindingCodes.NoteDisagrees, path,
                    $"The mapping says {string.Join(" and ", centers.Order().Select(NameOf))}, the file itself (smpl chunk) says {NameOf(note)}. Listen which is right, and set the other alike.");
            if (Choose(centers, smpl, path) is { } declared)
                notes[path] = declared;
        }
        return notes;
    }

    private static DeclaredNote? Choose(HashSet<int> centers, int? smpl, string path) =>
        centers.Count == 1 && centers.First() is >= 0 and <= 127 and var center ? new DeclaredNote(center, "mapping")
        : smpl is { } note ? new DeclaredNote(note, "smpl")
        : NoteNames.FromFileName(path) is { } named ? new DeclaredNote(named, "name")
        : null;

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
    private static bool SmplIsSet(IReadOnlyDictionary<string, RecordingFacts> recordings, Dictionary<string, HashSet<int>> mapped)
    {
        var said = recordings.Values.Select(f => f.SmplNote).OfType<int>().Distinct().Take(2).Count();
        return said > 1 || mapped.Values.SelectMany(c => c).Distinct().Take(2).Count() < 2;
    }

    private static string NameOf(int note) => note is >= 0 and <= 127 ? NoteNames.Name(note) : $"key {note}";
}

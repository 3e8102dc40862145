using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Holes between a mapping's lowest and highest key, and turns that nobody takes.</summary>
internal static class CoverageChecks
{
    public static void Judge(SfzMapping mapping, Coverage coverage, bool isPitched, NoteNaming naming, Findings findings)
    {
        if (isPitched && !IsKit(mapping) && coverage.Keys.Count > 0)
        {
            var holes = Enumerable.Range(coverage.Keys[0], coverage.Keys[^1] - coverage.Keys[0]).Except(coverage.Keys).ToList();
            if (holes.Count > 0)
                findings.Add(FindingCodes.KeysMissing, mapping.Path, holes.Count == 1
                    ? T($"Between its lowest and highest key 1 key sounds nothing: {Words.Keys(holes, naming)}. Widen a neighbour’s keys, or record the note.")
                    : T($"Between its lowest and highest key {holes.Count} keys sound nothing: {Words.Keys(holes, naming)}. Widen a neighbour’s keys, or record the note."));
        }
        if (coverage.MissingTakes.Count > 0)
            findings.Add(FindingCodes.TakesMissing, mapping.Path, TakesMessage(coverage.MissingTakes, naming));
    }

    /// <summary>No region follows the keys: each key is a sound of its own, and gaps are no fault.</summary>
    private static bool IsKit(SfzMapping mapping) => mapping.Regions.All(r => r.Number("pitch_keytrack") == 0);

    private static string TakesMessage(IReadOnlyList<MissingTake> missing, NoteNaming naming)
    {
        var places = missing.Select(m => T($"{naming.Name(m.Key)} at velocity {m.LowVelocity}–{m.HighVelocity}, turn {Words.And(m.Positions.Select(p => p.ToString(Say.Culture)))}")).ToList();
        return T($"Some turns of seq_length have no take, so the key is silent then: {Words.Some(places, 4)}. Add the take, or lower seq_length.");
    }
}

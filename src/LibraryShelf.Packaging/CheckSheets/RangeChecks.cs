using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>Gaps in what a key answers to by velocity, and ranges of keys or velocities that overlap by accident.</summary>
internal static class RangeChecks
{
    /// <summary>Opcodes that say when a region sounds at all; regions under other conditions never meet.</summary>
    private static readonly string[] Conditions =
        ["sw_", "locc", "hicc", "on_locc", "on_hicc", "lochan", "hichan", "lobend", "hibend", "lopolyaft", "hipolyaft", "lobpm", "hibpm"];

    public static void Judge(SfzMapping mapping, NoteNaming naming, Findings findings)
    {
        var byKey = new List<SfzRegion>[128];
        foreach (var region in mapping.Regions.Where(r => r is { SampleText: not null, IsMuted: false } && r.Trigger != SfzTrigger.Release))
            for (var key = Math.Max(region.LowKey, 0); key <= Math.Min(region.HighKey, 127); key++)
                (byKey[key] ??= []).Add(region);
        JudgeGaps(mapping, byKey, naming, findings);
        JudgeOverlaps(mapping, byKey, naming, findings);
    }

    private static void JudgeGaps(SfzMapping mapping, List<SfzRegion>?[] byKey, NoteNaming naming, Findings findings)
    {
        var gaps = Enumerable.Range(0, 128).Where(key => byKey[key] is not null)
            .SelectMany(key => GapsOf(byKey[key]!).Select(gap => (key, gap))).GroupBy(g => g.gap, g => g.key)
            .OrderBy(g => g.Key).Select(g => GapWords(g.Key, Words.Keys([.. g.Order()], naming))).ToList();
        if (gaps.Count > 0)
            findings.Add(FindingCodes.VelocitiesMissing, mapping.Path,
                T($"Some keys sound nothing when played so: {Words.Some(gaps, 4)}. Widen a neighbour’s lovel or hivel."));
    }

    private static string GapWords((int Low, int High) gap, string keys) =>
        gap.Low == gap.High ? T($"velocity {gap.Low} on {keys}") : T($"velocities {gap.Low}–{gap.High} on {keys}");

    /// <summary>What of 1 to 127 no region takes.</summary>
    private static IEnumerable<(int Low, int High)> GapsOf(List<SfzRegion> regions)
    {
        var next = 1;
        foreach (var (low, high) in regions.Select(r => (r.LowVelocity, r.HighVelocity)).Distinct().Order())
        {
            if (low > next)
                yield return (next, low - 1);
            next = Math.Max(next, high + 1);
        }
        if (next <= 127)
            yield return (next, 127);
    }

    private static void JudgeOverlaps(SfzMapping mapping, List<SfzRegion>?[] byKey, NoteNaming naming, Findings findings)
    {
        var conditions = new Dictionary<SfzRegion, string>(ReferenceEqualityComparer.Instance);
        List<int> ofKeys = [], ofVelocities = [];
        for (var key = 0; key < 128; key++)
        {
            var meeting = (byKey[key] ?? []).Where(r => !FadesAcross(r)).GroupBy(r => (Condition(r), r.SequencePosition, r.SequenceLength, r.LowRandom));
            foreach (var together in meeting)
            {
                var ranges = together.Select(r => (r.LowVelocity, r.HighVelocity)).Distinct().Order().ToList();
                if (Enumerable.Range(1, Math.Max(0, ranges.Count - 1)).Any(i => ranges[i].LowVelocity <= ranges[i - 1].HighVelocity))
                    ofVelocities.Add(key);
                // Two notes on one key: the ranges of two recordings of different notes reach into each other.
                if (together.Where(r => !r.IsRetuned).GroupBy(r => (r.LowVelocity, r.HighVelocity)).Any(g => g.Select(r => r.KeyCenter).Distinct().Skip(1).Any()))
                    ofKeys.Add(key);
            }
        }
        Add(keys => T($"Recordings of two different notes sound at once on {keys}: the key ranges overlap. Draw lokey and hikey apart, if it is not meant."), ofKeys);
        Add(keys => T($"Two layers sound at once on {keys}: the velocity ranges overlap. Draw lovel and hivel apart, if it is not meant."), ofVelocities);

        string Condition(SfzRegion region) => conditions.TryGetValue(region, out var known) ? known : conditions[region] = ConditionOf(region);

        void Add(Func<string, string> sentence, List<int> keys)
        {
            if (keys.Count > 0)
                findings.Add(FindingCodes.RangesOverlap, mapping.Path, sentence(Words.Keys([.. keys.Distinct()], naming)));
        }
    }

    private static string ConditionOf(SfzRegion region) => string.Join(' ', region.Opcodes
        .Where(o => Array.Exists(Conditions, c => o.Key.StartsWith(c, StringComparison.Ordinal)) || o.Key == "trigger")
        .OrderBy(o => o.Key, StringComparer.Ordinal).Select(o => $"{o.Key}={o.Value}"));

    /// <summary>Regions that fade into each other are meant to overlap.</summary>
    private static bool FadesAcross(SfzRegion region) => region.Opcodes.Keys.Any(k => k.StartsWith("xfin_", StringComparison.Ordinal) || k.StartsWith("xfout_", StringComparison.Ordinal));
}

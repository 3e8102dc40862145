using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Packaging.Keyprints;

/// <summary>Makes a keyprint from what was measured of a library's recordings and where each stands. Nothing is made up: what is not known is not drawn.</summary>
public static class KeyprintReading
{
    /// <summary>
    /// A fall of 20 dB taken three times, where the recording ends before 60: how ISO 3382-1 reads the time of 60 dB from its T20, here from the loudest on.
    /// </summary>
    private const double From20To60 = 3;

    private sealed record Voiced(int Key, RecordingPlace Place, RecordingFacts Facts);

    /// <summary>In whichever order the recordings come, the outcome is the same.</summary>
    public static Keyprint Of(IEnumerable<(RecordingPlace Place, RecordingFacts Facts)> recordings)
    {
        var all = recordings.OrderBy(r => r.Place.Path, StringComparer.Ordinal).ToList();
        var placed = all.Select(r => (Key: KeyOf(r.Place), r.Place, r.Facts)).Where(r => r.Key is not null)
            .Select(r => new Voiced(r.Key!.Value, r.Place, r.Facts)).ToList();
        var drawn = FullestVoice(placed);
        if (drawn.Count == 0)
            return new Keyprint([], 0, 0, "", "", placed.Count, all.Count - placed.Count, 0);
        var layers = drawn.GroupBy(r => r.Key).OrderBy(g => g.Key).SelectMany(LayersOf).ToList();
        var reeds = layers.OfType<Reed>().ToList();
        return new Keyprint(reeds, drawn.Min(r => r.Key), drawn.Max(r => r.Key), drawn[0].Place.Articulation, drawn[0].Place.Microphone,
            placed.Count - drawn.Count, all.Count - placed.Count, layers.Count - reeds.Count);
    }

    /// <summary>The key whose own recording it is: the note it was made for, or the nearest that sounds it.</summary>
    private static int? KeyOf(RecordingPlace place) => place switch
    {
        { LowKey: { } low, HighKey: { } high } when low == high => low,
        { LowKey: { } low, HighKey: { } high, Note: { } note } when low < high => Math.Clamp(note, low, high),
        _ => place.Note,
    };

    /// <summary>The way of playing and microphone with the most keys, then the most recordings.</summary>
    private static List<Voiced> FullestVoice(List<Voiced> placed) =>
        placed.Where(r => !r.Place.IsLift).GroupBy(r => (r.Place.Articulation, r.Place.Microphone))
            .OrderByDescending(g => g.Select(r => r.Key).Distinct().Count()).ThenByDescending(g => g.Count())
            .ThenBy(g => g.Key.Articulation, StringComparer.Ordinal).ThenBy(g => g.Key.Microphone, StringComparer.Ordinal)
            .FirstOrDefault()?.ToList() ?? [];

    /// <summary>A key's layers, softest first; null for one of which too little is known.</summary>
    private static IEnumerable<Reed?> LayersOf(IGrouping<int, Voiced> key)
    {
        var layers = key.GroupBy(r => r.Place.Layer ?? 1).OrderBy(g => g.Key).ToList();
        return layers.Select((layer, i) => ReedOf(key.Key, i + 1, layers.Count, [.. layer]));
    }

    private static Reed? ReedOf(int key, int layer, int layers, List<Voiced> takes)
    {
        var facts = takes.ConvertAll(t => t.Facts);
        var isLooped = 2 * facts.Count(f => f.Loops.Count > 0) >= facts.Count;
        var ring = isLooped ? 0 : Middle(facts.Select(RingOf));
        if (ring is not { } seconds || (!isLooped && seconds <= 0) || Middle(facts.Select(f => f.BrightnessHz)) is not ({ } hz and > 0)
            || Middle(facts.Select(f => f.LoudestRmsDbfs)) is not { } loudness || Middle(facts.Select(f => f.AttackMs)) is not { } attack)
            return null;
        return new Reed
        {
            Key = key, Layer = layer, Layers = layers, Takes = TakesOf(takes), IsLooped = isLooped, RingSeconds = seconds, BrightnessHz = hz,
            LoudnessDb = loudness, AttackMs = attack,
        };
    }

    private static double? RingOf(RecordingFacts facts) => (facts.Decay60Ms ?? From20To60 * facts.Decay20Ms) / 1000;

    /// <summary>Where each take is told, how many; else each recording is one.</summary>
    private static int TakesOf(List<Voiced> takes) =>
        takes.TrueForAll(t => t.Place.Take is not null) ? takes.Select(t => t.Place.Take).Distinct().Count() : takes.Count;

    /// <summary>The median of what is known; null when nothing is.</summary>
    private static double? Middle(IEnumerable<double?> values)
    {
        var known = values.OfType<double>().Where(double.IsFinite).Order().ToList();
        return known.Count == 0 ? null : (known[(known.Count - 1) / 2] + known[known.Count / 2]) / 2;
    }
}

using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Which note, layer, take, way of playing and microphone each recording is: as the first mapping that sounds it plays it; of a recording that
/// no mapping sounds, what its name says (<see cref="NamedPlaces"/>).
/// </summary>
internal static class RecordingPlaces
{
    /// <summary>Places in ordinal order of paths; <paramref name="notes"/> are the declared ones.</summary>
    public static IReadOnlyList<RecordingPlace> Of(
        IReadOnlyCollection<string> recordings, IReadOnlyList<SfzMapping> mappings, IReadOnlyDictionary<string, DeclaredNote> notes)
    {
        var mapped = new Dictionary<string, RecordingPlace>(StringComparer.Ordinal);
        var sounding = mappings.Where(m => m.Regions.Any(r => r.SampleText is not null)).ToList();
        var ways = Articulations.NamesOf(sounding.ConvertAll(m => m.Path));
        for (var i = 0; i < sounding.Count; i++)
            AddMapped(sounding[i], ways.Count > 0 ? ways[i] : "", mapped);
        var named = NamedPlaces.Of([.. recordings.Where(p => !mapped.ContainsKey(p))], notes);
        return [.. recordings.Order(StringComparer.Ordinal).Select(path =>
            (mapped.GetValueOrDefault(path) ?? named[path]) with { Note = notes.GetValueOrDefault(path)?.Note, NoteFrom = notes.GetValueOrDefault(path)?.From })];
    }

    private static void AddMapped(SfzMapping mapping, string way, Dictionary<string, RecordingPlace> mapped)
    {
        var regions = mapping.Regions.Where(r => r is { Sample: not null, IsMuted: false } && r.HighKey >= 0).ToList();
        // Where regions are compared: at the key the recording was made for, or the nearest that sounds it.
        var cells = regions.GroupBy(r => (Key: KeyOf(r), IsLift: r.Trigger == SfzTrigger.Release));
        var microphones = MicrophoneNames.Of(regions.GroupBy(r => (KeyOf(r), r.LowVelocity, r.HighVelocity, TurnOf(r), r.Trigger))
            .Select(g => g.Select(r => r.Sample!).Distinct(StringComparer.Ordinal).ToList()));
        foreach (var cell in cells.OrderBy(c => c.Key.IsLift))
        {
            var layers = cell.Select(r => (r.LowVelocity, r.HighVelocity)).Distinct().Order().ToList();
            foreach (var layer in cell.GroupBy(r => (r.LowVelocity, r.HighVelocity)))
            {
                var turns = layer.Select(TurnOf).Distinct().Order().ToList();
                foreach (var region in layer)
                    mapped.TryAdd(region.Sample!, new RecordingPlace
                    {
                        Path = region.Sample!,
                        Layer = layers.IndexOf(layer.Key) + 1,
                        Layers = layers.Count,
                        Take = turns.IndexOf(TurnOf(region)) + 1,
                        Articulation = way,
                        Microphone = microphones.GetValueOrDefault(region.Sample!) ?? "",
                        IsLift = cell.Key.IsLift,
                        LowKey = Math.Clamp(region.LowKey, 0, 127),
                        HighKey = Math.Clamp(region.HighKey, 0, 127),
                    });
            }
        }
    }

    private static int KeyOf(SfzRegion region) =>
        region.LowKey <= region.HighKey ? Math.Clamp(region.KeyCenter, region.LowKey, region.HighKey) : region.LowKey;

    /// <summary>A turn of going round, or a share of chance.</summary>
    private static (int Position, double Low) TurnOf(SfzRegion region) => (region.SequencePosition, region.LowRandom);
}

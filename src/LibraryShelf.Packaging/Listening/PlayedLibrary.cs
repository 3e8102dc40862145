using System.Globalization;
using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Listening;

/// <summary>
/// What a library's mappings sound when nothing but its keys and its switch keys is touched: one microphone (the one with most recordings), each way of playing.
/// A library that no mapping plays is played by its declared notes.
/// </summary>
internal sealed class PlayedLibrary
{
    /// <summary>A release of the least SFZ gives would click; as short as it may be without. Common practice, no source.</summary>
    private const double LeastRelease = 0.03;

    private readonly ComparedSide side;

    public PlayedLibrary(ComparedFolder folder)
    {
        side = new ComparedSide(folder);
        var read = side.Programs.SelectMany(RegionsOf).ToList();
        if (read.Count == 0)
            read = Unmapped();
        // Not a list of rarities: what is played on most keys comes first. What sounds only when a key is let go is no way of playing by itself.
        var ways = read.GroupBy(r => r.Way, StringComparer.Ordinal).Where(w => w.Any(r => !r.Region.IsLift)).OrderByDescending(w => w.Select(r => r.Region.OwnKey).Distinct().Count()).Select(w => w.Key).ToList();
        Ways = ways;
        Regions = [.. read.Where(r => ways.Contains(r.Way, StringComparer.Ordinal)).GroupBy(r => r.Way, StringComparer.Ordinal)
            .SelectMany(way => OneMicrophone([.. way])).Select(r => r.Region with { Way = ways.IndexOf(r.Way) })];
    }

    /// <summary>Those of most keys first, then in the mappings' order; "" for the one unnamed.</summary>
    public IReadOnlyList<string> Ways { get; }

    public IReadOnlyList<PlayedRegion> Regions { get; }

    private sealed record Read(string Way, string Microphone, PlayedRegion Region);

    /// <summary>A mapping may hold several ways of playing, chosen by switch keys.</summary>
    private IEnumerable<Read> RegionsOf(SfzMapping program)
    {
        var rest = program.Control.Where(c => c.Key.StartsWith("set_cc", StringComparison.Ordinal))
            .Select(c => (c.Key, Value: double.TryParse(c.Value, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) ? value : 0))
            .ToDictionary(c => Situation.Controller + c.Key[6..], c => c.Value, StringComparer.Ordinal);
        var sounding = program.Regions.Where(r => r is { Sample: not null, IsMuted: false } && IsOpenAtRest(r, rest) && FactsOf(r.Sample) is not null).ToList();
        var switches = sounding.Select(r => r.Opcodes.GetValueOrDefault("sw_last")).OfType<string>().Distinct(StringComparer.Ordinal).ToList();
        foreach (var chosen in switches.DefaultIfEmpty(null))
        {
            var regions = sounding.FindAll(r => chosen is null || (r.Opcodes.GetValueOrDefault("sw_last") ?? chosen) == chosen);
            // sw_label is no part of SFZ version 1, but where it is written, it is the name.
            var named = chosen is null ? "" : regions.Select(r => r.Opcodes.GetValueOrDefault("sw_label")).FirstOrDefault(l => l is not null) ?? T($"switch {chosen}");
            var way = string.Join(' ', new[] { side.Ways[program.Path], named }.Where(w => w.Length > 0));
            foreach (var cell in regions.GroupBy(r => (Keys: KeysOf(r), r.LowVelocity, r.HighVelocity, Lift: r.Trigger == SfzTrigger.Release)))
            {
                // On no key, or never: nothing to play.
                if (cell.Key.Keys is not { } keys || cell.Key.HighVelocity <= 0)
                    continue;
                var turns = cell.Select(r => (r.SequencePosition, r.LowRandom)).Distinct().Order().ToList();
                foreach (var region in cell)
                    yield return new Read(way, MicrophoneOf(region.Sample!), Played(region, keys, turns.IndexOf((region.SequencePosition, region.LowRandom))));
            }
        }
    }

    /// <summary>All but the switch keys is at rest.</summary>
    private static bool IsOpenAtRest(SfzRegion region, Dictionary<string, double> rest)
    {
        var unswitched = region.Opcodes.Where(o => !o.Key.StartsWith("sw_", StringComparison.Ordinal)).ToDictionary(o => o.Key, o => o.Value, StringComparer.Ordinal);
        return VoiceGate.Of(region with { Opcodes = unswitched }).IsOpen(Situation.Rest, rest);
    }

    private PlayedRegion Played(SfzRegion region, (int Low, int High) keys, int take)
    {
        var facts = FactsOf(region.Sample!)!;
        var mode = region.Word("loop_mode");
        var offset = (long)region.Number("offset");
        return new PlayedRegion
        {
            Way = 0,
            IsLift = region.Trigger == SfzTrigger.Release,
            LowKey = keys.Low,
            HighKey = keys.High,
            LowVelocity = Math.Max(1, region.LowVelocity),
            HighVelocity = region.HighVelocity,
            Take = take,
            Centre = side.CentreOf(region),
            Cents = 100 * region.Number("transpose") + region.Number("tune"),
            KeyTrack = region.Number("pitch_keytrack"),
            VelocityTrack = region.Number("amp_veltrack") / 100,
            VolumeDb = region.Number("volume"),
            ReleaseSeconds = Math.Max(LeastRelease, region.Number("ampeg_release")),
            IsOneShot = mode == "one_shot" || region.Trigger == SfzTrigger.Release,
            Sha256 = side.Files[region.Sample!].Sha256,
            Offset = offset < facts.Frames ? offset : 0,
            Loop = mode is "no_loop" or "one_shot" ? null : LoopOf(region, facts),
        };
    }

    /// <summary>The mapping's own points, else the file's first loop; only where both lie within the recording.</summary>
    private static (long First, long Last)? LoopOf(SfzRegion region, RecordingFacts facts)
    {
        var inFile = facts.Loops.Count > 0 ? facts.Loops[0] : null;
        if (inFile is null && region.Word("loop_mode") is null)
            return null;
        var first = region.Opcodes.ContainsKey("loop_start") ? (long)region.Number("loop_start") : inFile?.Start ?? 0;
        var last = region.Opcodes.ContainsKey("loop_end") ? (long)region.Number("loop_end") : inFile?.End ?? facts.Frames - 1;
        return first >= 0 && first < last && last < facts.Frames ? (first, last) : null;
    }

    private static IEnumerable<Read> OneMicrophone(List<Read> way)
    {
        var main = way.GroupBy(r => r.Microphone, StringComparer.Ordinal).OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal).First().Key;
        return way.Where(r => r.Microphone == main || r.Microphone.Length == 0);
    }

    /// <summary>Each note sounds up to half-way to its neighbours, no more than half an octave; layers part the velocities evenly.</summary>
    private List<Read> Unmapped()
    {
        var placed = side.Files.Keys.Order(StringComparer.Ordinal).Select(p => side.PlaceOf(p)).OfType<RecordingPlace>()
            .Where(p => p is { IsLift: false, Note: not null } && FactsOf(p.Path) is not null).ToList();
        var notes = placed.Select(p => p.Note!.Value).Distinct().Order().ToList();
        return placed.GroupBy(p => (p.Note, Layer: p.Layer ?? 1)).SelectMany(same => same.Select((place, take) =>
        {
            var at = notes.IndexOf(place.Note!.Value);
            var (layer, layers) = (same.Key.Layer, Math.Max(place.Layers ?? 1, same.Key.Layer));
            return new Read("", place.Microphone, new PlayedRegion
            {
                Way = 0,
                IsLift = false,
                LowKey = at == 0 ? notes[at] : Math.Max(notes[at] - 6, (notes[at - 1] + notes[at]) / 2 + 1),
                HighKey = at == notes.Count - 1 ? notes[at] : Math.Min(notes[at] + 6, (notes[at] + notes[at + 1]) / 2),
                LowVelocity = (layer - 1) * 127 / layers + 1,
                HighVelocity = layer * 127 / layers,
                Take = take,
                Centre = notes[at],
                ReleaseSeconds = 0.3,
                Sha256 = side.Files[place.Path].Sha256,
            });
        })).ToList();
    }

    private RecordingFacts? FactsOf(string path) =>
        side.Files.TryGetValue(path, out var file) && FileKinds.Of(path) == FileKind.Recording && side.FactsOf(file) is { Frames: > 0, Silent: false } facts ? facts : null;

    private string MicrophoneOf(string path) => side.PlaceOf(path)?.Microphone ?? "";

    /// <summary>The lowest and the highest of a keyboard's keys that sound it; null: none does.</summary>
    private static (int Low, int High)? KeysOf(SfzRegion region) =>
        ComparedSide.KeysOf(region).ToList() is { Count: > 0 } keys ? (keys[0], keys[^1]) : null;
}

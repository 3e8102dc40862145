using System.Text.RegularExpressions;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What sounds on one key: a region without its keys. <paramref name="Sound"/> is the recording by its name in the older folder.</summary>
internal sealed record Voice(
    SfzTrigger Trigger, int LowVelocity, int HighVelocity, string Turn, string Sound, int KeyCenter, string Settings)
{
    public bool IsLift => Trigger == SfzTrigger.Release;
}

/// <summary>A program as a song uses it: what sounds on each key, and which controls it listens to.</summary>
internal sealed partial class ProgramVoices
{
    /// <summary>Told by the voice itself, or by where it stands.</summary>
    private static readonly HashSet<string> Apart = new(StringComparer.Ordinal)
    {
        "sample", "key", "lokey", "hikey", "pitch_keycenter", "lovel", "hivel", "trigger", "seq_length", "seq_position", "lorand", "hirand",
    };

    private readonly HashSet<Voice>[] byKey = [.. Enumerable.Range(0, 128).Select(_ => new HashSet<Voice>())];

    /// <param name="program">As parsed.</param>
    /// <param name="soundOf">The name of a recording that both folders share.</param>
    public ProgramVoices(SfzMapping program, Func<string, string> soundOf)
    {
        foreach (var region in program.Regions.Where(r => r is { SampleText: not null, IsMuted: false }))
        {
            var voice = new Voice(
                region.Trigger, region.LowVelocity, region.HighVelocity,
                FormattableString.Invariant($"{region.SequencePosition}/{region.SequenceLength} {region.LowRandom}-{region.HighRandom}"),
                region.Sample is { } sample ? soundOf(sample) : region.SampleText!, region.KeyCenter,
                string.Join(' ', region.Opcodes.Where(o => !Apart.Contains(o.Key)).OrderBy(o => o.Key, StringComparer.Ordinal).Select(o => $"{o.Key}={o.Value}")));
            foreach (var key in ComparedSide.KeysOf(region))
                byKey[key].Add(voice);
        }
        Controls = program.Regions.SelectMany(r => r.Opcodes.Keys).Distinct(StringComparer.Ordinal).Select(o => Controller().Match(o))
            .Where(m => m.Success).Select(m => int.Parse(m.Groups["number"].ValueSpan, System.Globalization.CultureInfo.InvariantCulture)).Where(n => n is >= 0 and <= 127).ToHashSet();
    }

    /// <summary>MIDI controllers that it listens to.</summary>
    public IReadOnlySet<int> Controls { get; }

    public IReadOnlySet<Voice> On(int key) => byKey[key];

    public IEnumerable<int> Keys => Enumerable.Range(0, 128).Where(k => byKey[k].Count > 0);

    public bool IsPressed(int key) => byKey[key].Any(v => !v.IsLift);

    public bool IsLifted(int key) => byKey[key].Any(v => v.IsLift);

    public int LayersOn(int key) => byKey[key].Where(v => !v.IsLift).Select(v => (v.LowVelocity, v.HighVelocity)).Distinct().Count();

    public int TakesOn(int key) => byKey[key].Where(v => !v.IsLift).Select(v => v.Turn).Distinct(StringComparer.Ordinal).Count();

    /// <summary>Keys and key centres by recording.</summary>
    public ILookup<string, (int Key, int Center)> BySound =>
        Keys.SelectMany(k => byKey[k].Select(v => (v.Sound, Key: k, v.KeyCenter))).ToLookup(v => v.Sound, v => (v.Key, v.KeyCenter), StringComparer.Ordinal);

    public bool PlaysLike(ProgramVoices other) => Enumerable.Range(0, 128).All(k => byKey[k].SetEquals(other.byKey[k]));

    [GeneratedRegex(@"cc(?<number>[0-9]{1,3})\z", RegexOptions.CultureInvariant | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Controller();
}

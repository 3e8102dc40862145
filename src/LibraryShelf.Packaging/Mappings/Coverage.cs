namespace LibraryShelf.Packaging.Mappings;

/// <summary>A key and loudness layer at which a mapping's turns leave one out: 2 of 1, 3 is silent.</summary>
public sealed record MissingTake(int Key, int LowVelocity, int HighVelocity, IReadOnlyList<int> Positions);

/// <summary>
/// What a mapping reaches. <see cref="Keys"/> (sorted, 0 to 127) sound when pressed; <see cref="Layers"/> and <see cref="Takes"/> are
/// the most that any one key has; <see cref="Lifts"/> are regions that sound on letting go.
/// </summary>
public sealed record Coverage(IReadOnlyList<int> Keys, int Layers, int Takes, int Lifts, IReadOnlyList<MissingTake> MissingTakes)
{
    private const int MaxMissingTakes = 100;

    /// <summary>
    /// Layers: distinct velocity ranges on one key. Takes: distinct turns (seq_position) or shares of chance (lorand to hirand) on one
    /// key and velocity range, so that two microphone positions that sound together count once.
    /// </summary>
    public static Coverage Of(SfzMapping mapping)
    {
        var byKey = new HashSet<Voice>?[128];
        foreach (var region in mapping.Regions.Where(SoundsOnPress))
            for (var key = Math.Max(region.LowKey, 0); key <= Math.Min(region.HighKey, 127); key++)
                (byKey[key] ??= []).Add(Voice.Of(region));
        var groups = byKey.SelectMany((voices, key) =>
            (voices ?? []).GroupBy(v => (v.LowVelocity, v.HighVelocity)).Select(g => (Key: key, g.Key.LowVelocity, g.Key.HighVelocity, Voices: g.ToList()))).ToList();
        return new Coverage(
            [.. Enumerable.Range(0, 128).Where(key => byKey[key] is not null)],
            groups.GroupBy(g => g.Key).Select(g => g.Count()).DefaultIfEmpty().Max(),
            groups.Select(g => g.Voices.Count).DefaultIfEmpty().Max(),
            mapping.Regions.Count(r => r.Trigger == SfzTrigger.Release && r.SampleText is not null),
            [.. groups.Select(g => MissingIn(g.Key, g.LowVelocity, g.HighVelocity, g.Voices)).OfType<MissingTake>().Take(MaxMissingTakes)]);
    }

    private static bool SoundsOnPress(SfzRegion region) =>
        region is { SampleText: not null, IsMuted: false } && region.Trigger != SfzTrigger.Release;

    private static MissingTake? MissingIn(int key, int lowVelocity, int highVelocity, List<Voice> voices)
    {
        var missing = Enumerable.Range(1, voices.Max(v => v.SequenceLength)).Where(turn => !voices.Exists(v => v.SoundsOn(turn))).ToList();
        return missing.Count == 0 ? null : new MissingTake(key, lowVelocity, highVelocity, missing);
    }

    private sealed record Voice(
        int LowVelocity, int HighVelocity, int SequenceLength, int SequencePosition, double LowRandom, double HighRandom)
    {
        public static Voice Of(SfzRegion r) => new(r.LowVelocity, r.HighVelocity, r.SequenceLength, r.SequencePosition, r.LowRandom, r.HighRandom);

        /// <summary>Turns go round each region's own length.</summary>
        public bool SoundsOn(int turn) => (turn - 1) % SequenceLength == SequencePosition - 1;
    }
}

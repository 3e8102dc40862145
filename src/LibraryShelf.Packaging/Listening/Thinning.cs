namespace LibraryShelf.Packaging.Listening;

/// <summary>
/// What of a library goes into a playable set: recordings cut after <paramref name="Seconds"/>, every <paramref name="KeyStep"/>th recorded key (the keys between
/// are played from their neighbour), at most so many takes, layers and ways of playing, and the sounds of letting go or not.
/// </summary>
internal sealed record Thinning(double Seconds, int KeyStep, int Takes, int Layers, int Ways, bool HasLifts)
{
    /// <summary>
    /// From all to little: first the tails, then takes, then keys a small way apart, because a recording played a tone off still sounds like itself, then layers.
    /// Common practice, no source.
    /// </summary>
    private static readonly (double Seconds, int KeyStep, int Takes, int Layers)[] Tones =
    [
        (8, 1, 4, 6), (6, 1, 4, 4), (5, 1, 3, 4), (4, 1, 2, 4), (4, 2, 2, 4), (3, 2, 2, 4), (3, 3, 2, 4), (2.5, 3, 2, 3), (2.5, 4, 2, 3), (2, 4, 1, 3),
        (2, 6, 1, 3), (1.5, 6, 1, 2), (1.2, 8, 1, 2), (1, 12, 1, 1), (0.5, 24, 1, 1),
    ];

    /// <summary>Of a kit each key is a sound of its own: none stands for another, so keys go last.</summary>
    private static readonly (double Seconds, int KeyStep, int Takes, int Layers)[] Kits =
    [
        (8, 1, 4, 6), (5, 1, 4, 4), (3, 1, 3, 4), (2.5, 1, 2, 4), (2, 1, 2, 3), (1.5, 1, 2, 3), (1.2, 1, 1, 3), (1, 1, 1, 2), (0.7, 1, 1, 2), (0.5, 1, 1, 1),
        (0.5, 2, 1, 1), (0.5, 4, 1, 1), (0.5, 8, 1, 1),
    ];

    /// <summary>In the order in which they are tried; all ways of playing, however many, before fewer.</summary>
    public static IEnumerable<Thinning> InOrder(int ways, bool isPitched, int mostTakes) =>
        from count in Enumerable.Range(1, Math.Max(ways, 1)).Reverse()
        from step in isPitched ? Tones : Kits
        from hasLifts in new[] { true, false }
        select new Thinning(step.Seconds, step.KeyStep, Math.Min(step.Takes, mostTakes), step.Layers, count, hasLifts);

    /// <param name="all">Everything the library plays.</param>
    /// <param name="isPitched">A key can be played from its neighbour.</param>
    public List<PlayedRegion> Of(IReadOnlyList<PlayedRegion> all, bool isPitched) =>
        [.. all.Where(r => r.Way < Ways && (HasLifts || !r.IsLift))
            .GroupBy(r => (r.Way, r.IsLift, r.OwnKey)).SelectMany(key => LayersOf([.. key], key.Key.IsLift ? 1 : Layers))
            .GroupBy(r => (r.Region.Way, r.Region.IsLift, r.Layer)).SelectMany(layer => KeysOf([.. layer.Select(r => r.Region)], isPitched))
            .GroupBy(r => (r.Way, r.IsLift, r.OwnKey, r.LowVelocity)).SelectMany(same => same.Where(r => r.Take < (r.IsLift ? 1 : Takes)))];

    /// <summary>Softest and hardest first; what is left out is played by the next harder one.</summary>
    private static IEnumerable<(int Layer, PlayedRegion Region)> LayersOf(List<PlayedRegion> key, int most)
    {
        var bands = key.Select(r => (r.LowVelocity, r.HighVelocity)).Distinct().Order().ToList();
        if (bands.Count <= most)
            return key.Select(r => (bands.IndexOf((r.LowVelocity, r.HighVelocity)), r));
        var kept = most == 1 ? [bands.Count - 1] : Enumerable.Range(0, most).Select(i => i * (bands.Count - 1) / (most - 1)).ToList();
        return kept.SelectMany((band, layer) => key.Where(r => (r.LowVelocity, r.HighVelocity) == bands[band])
            .Select(r => (layer, r with { LowVelocity = layer == 0 ? bands[0].LowVelocity : bands[kept[layer - 1]].HighVelocity + 1 })));
    }

    private IEnumerable<PlayedRegion> KeysOf(List<PlayedRegion> layer, bool isPitched)
    {
        var keys = layer.GroupBy(r => r.OwnKey).OrderBy(g => g.Key).ToList();
        if (KeyStep == 1 || keys.Count == 1)
            return layer;
        // The middle one of each so many, so that none is played far off.
        var kept = Enumerable.Range(0, keys.Count).Where(i => i % KeyStep == Math.Min(KeyStep, keys.Count) / 2).ToList();
        if (!isPitched)
            return kept.SelectMany(i => keys[i]);
        return kept.SelectMany((i, place) => keys[i].Select(r => r with
        {
            LowKey = place == 0 ? keys[0].Min(k => k.LowKey) : Between(keys[kept[place - 1]].Key, keys[i].Key) + 1,
            HighKey = place == kept.Count - 1 ? keys[^1].Max(k => k.HighKey) : Between(keys[i].Key, keys[kept[place + 1]].Key),
        }));
    }

    private static int Between(int lower, int higher) => (lower + higher) / 2;
}

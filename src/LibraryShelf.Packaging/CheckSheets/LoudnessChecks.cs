namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Is each layer louder than the one below, and are takes alike? Compared is the loudest 400 ms; where a recording is too short for that, the
/// loudest RMS of all that are compared.
/// </summary>
internal static class LoudnessChecks
{
    public static void Judge(IEnumerable<PlacedRecording> recordings, LibraryLimits limits, Findings findings)
    {
        var notes = recordings.Where(r => r is { Place: { Note: not null, Layer: not null }, Facts.Silent: false })
            .GroupBy(r => (r.Place.Note, r.Place.Articulation, r.Place.Microphone, r.Place.IsLift));
        foreach (var note in notes)
        {
            var (loudness, unit) = MeasureFor([.. note]);
            var layers = note.Where(r => loudness(r) is not null).GroupBy(r => r.Place.Layer!.Value).OrderBy(g => g.Key)
                .Select(g => g.OrderBy(r => r.Path, StringComparer.Ordinal).ToList()).ToList();
            foreach (var layer in layers.Where(l => l.Count > 1))
                JudgeTakes(layer, r => loudness(r)!.Value, unit, limits, findings);
            for (var i = 1; i < layers.Count; i++)
                JudgeStep(layers[i - 1], layers[i], r => loudness(r)!.Value, unit, limits, findings);
        }
    }

    private static (Func<PlacedRecording, double?> Loudness, string Unit) MeasureFor(List<PlacedRecording> note) =>
        note.TrueForAll(r => r.Facts.MomentaryMaxLufs is not null)
            ? (r => r.Facts.MomentaryMaxLufs, "LUFS")
            : (r => r.Facts.LoudestRmsDbfs, "dBFS");

    private static void JudgeStep(
        List<PlacedRecording> below, List<PlacedRecording> above, Func<PlacedRecording, double> loudness, string unit, LibraryLimits limits, Findings findings)
    {
        var (soft, loud) = (Middle(below.Select(loudness)), Middle(above.Select(loudness)));
        if (loud - soft > limits.LayerStepDb)
            return;
        var first = above[0];
        var note = limits.Naming.Name(first.Place.Note!.Value);
        findings.Add(FindingCodes.LayersOutOfOrder, first.Path, above.Count > 1
            ? T($"Layer {first.Place.Layer} of {first.Place.Layers} on {note} is not louder than the layer below: {Words.Number(loud)} against {Words.Number(soft)} {unit} (the middle of {above.Count} takes). Listen to both, and put them in order or record one again.")
            : T($"Layer {first.Place.Layer} of {first.Place.Layers} on {note} is not louder than the layer below: {Words.Number(loud)} against {Words.Number(soft)} {unit}. Listen to both, and put them in order or record one again."));
    }

    private static void JudgeTakes(
        List<PlacedRecording> takes, Func<PlacedRecording, double> loudness, string unit, LibraryLimits limits, Findings findings)
    {
        var far = takes.Select(t => (Take: t, Siblings: Middle(takes.Where(o => o != t).Select(loudness))))
            .Where(t => Math.Abs(loudness(t.Take) - t.Siblings) > limits.TakeSpreadDb).ToList();
        // Of two, either may be the odd one: one line for both, at the softer, which is more often the one that went wrong.
        foreach (var (take, siblings) in takes.Count == 2 ? far.OrderBy(t => loudness(t.Take)).Take(1) : far)
        {
            var difference = loudness(take) - siblings;
            var (off, own, theirs, allowed) = (Words.Number(Math.Abs(difference)), Words.Number(loudness(take)), Words.Number(siblings), Words.Number(limits.TakeSpreadDb));
            var others = takes.Count == 2 ? Words.Quote(takes.Find(t => t != take)!.Path) : T("its siblings");
            findings.Add(FindingCodes.TakesUneven, take.Path, difference > 0
                ? T($"{off} dB louder than {others} ({own} against {theirs} {unit}; {allowed} dB are allowed): it stands out when takes go round. Listen, and level or record it again.")
                : T($"{off} dB softer than {others} ({own} against {theirs} {unit}; {allowed} dB are allowed): it stands out when takes go round. Listen, and level or record it again."));
        }
    }

    private static double Middle(IEnumerable<double> values)
    {
        var sorted = values.Order().ToList();
        return (sorted[(sorted.Count - 1) / 2] + sorted[sorted.Count / 2]) / 2;
    }
}

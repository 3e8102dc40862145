using LibraryShelf.Audio.Comparing;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>A recording of the newer folder and the one of the older that it is, or that it took the place of.</summary>
internal sealed record RecordingPair(ComparedFile Old, ComparedFile New, ChangeKind? Kind, RecordingLikeness? Likeness = null)
{
    public bool IsRenamed => Old.Path != New.Path;

    public Change ToChange(ComparedSide newer) => new(
        Kind!.Value, New.Path, IsRenamed ? Old.Path : null, Likeness is { GainDb: not 0 and var gain } ? Math.Round(gain, 3) : null, newer.KeysOf(New.Path))
    {
        Words = Likeness is null ? "" : WordsOf(Likeness, newer.FactsOf(New)?.SampleRate ?? 0),
        Articulation = newer.PlaceOf(New.Path)?.Articulation ?? "",
    };

    private static string WordsOf(RecordingLikeness likeness, int rate)
    {
        var parts = new List<string>();
        if (likeness.IsInverted)
            parts.Add(T("turned upside down"));
        if (likeness.CutHead != 0)
            parts.Add(likeness.CutHead > 0 ? T($"{Length(likeness.CutHead)} cut from its start") : T($"{Length(likeness.CutHead)} more at its start"));
        if (likeness.CutTail != 0)
            parts.Add(likeness.CutTail > 0 ? T($"{Length(likeness.CutTail)} cut from its end") : T($"{Length(likeness.CutTail)} more at its end"));
        if (likeness.IsFadedIn)
            parts.Add(T("faded in"));
        if (likeness.IsFadedOut)
            parts.Add(T("faded out"));
        return string.Join(", ", parts);

        string Length(long frames) => DurationWords.Of(Math.Abs(frames), rate);
    }
}

using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>A take's mark: where it stands in its key's column, and its verdict.</summary>
internal sealed record PictureTake(int Layer, SheetVerdict Verdict);

/// <summary>A key of the picture with what is shown of it; <paramref name="Words"/> name the worst finding, "" when all is fine.</summary>
internal sealed record PictureKey(
    int Key, string Name, SheetVerdict Verdict, bool IsMissing, IReadOnlyList<PictureTake> Takes, IReadOnlyList<(double Cents, SheetVerdict Verdict)> Cents, string Words)
{
    public bool IsAccidental => (Key % 12) is 1 or 3 or 6 or 8 or 10;
}

/// <summary>
/// What the picture of a sheet shows, wherever it is drawn: one way of playing and one microphone at a time, from the lowest to the highest
/// key that has a recording in it.
/// </summary>
internal sealed class PictureKeys
{
    public PictureKeys(SheetReading sheet, SheetView view, SheetWords words)
    {
        var placed = sheet.Recordings.Where(r => r.Place is not null && SheetWords.KeyOf(r.Place) is not null).ToList();
        Ways = [.. placed.Select(r => WayOf(r.Place!)).Distinct(StringComparer.Ordinal).OrderBy(w => w.EndsWith(Lifts, StringComparison.Ordinal)).ThenBy(w => w, StringComparer.Ordinal)];
        Way = view.Way is not null && Ways.Contains(view.Way) ? view.Way : WorstOf(placed, p => WayOf(p), Ways);
        var ofWay = placed.FindAll(r => WayOf(r.Place!) == Way);
        Microphones = [.. ofWay.Select(r => r.Place!.Microphone).Distinct(StringComparer.Ordinal).Order(StringComparer.Ordinal)];
        Microphone = view.Mic is not null && Microphones.Contains(view.Mic) ? view.Mic : WorstOf(ofWay, p => p.Microphone, Microphones);
        var shown = ofWay.FindAll(r => r.Place!.Microphone == Microphone);
        NotShown = sheet.Recordings.Count - shown.Count;
        Unplaced = sheet.Recordings.Count - placed.Count;
        Layers = Math.Max(1, shown.Select(r => r.Place!.Layers ?? r.Place.Layer ?? 1).DefaultIfEmpty(1).Max());
        IsPitched = sheet.Release.Library.IsPitched;
        Keys = KeysOf(shown, words);
        HasCents = Keys.Any(k => k.Cents.Count > 0);
        MostTakes = Math.Max(3, Keys.SelectMany(k => k.Takes.GroupBy(t => t.Layer)).Select(g => g.Count()).DefaultIfEmpty(1).Max());
    }

    /// <summary>Of what sounds when a key is let go of, in addresses.</summary>
    public const string Lifts = "lifts";

    /// <summary>The choices, as addresses have them; "" is the one unnamed. <see cref="PictureWords.Way"/> says them.</summary>
    public IReadOnlyList<string> Ways { get; }

    public IReadOnlyList<string> Microphones { get; }

    public string Way { get; }

    public string Microphone { get; }

    public IReadOnlyList<PictureKey> Keys { get; }

    /// <summary>How many keys have this as their worst.</summary>
    public int CountOf(SheetVerdict verdict) => Keys.Count(k => k.Verdict == verdict);

    public int Layers { get; }

    /// <summary>Most takes of one layer of a key, at least 3.</summary>
    public int MostTakes { get; }

    public bool IsPitched { get; }

    public bool HasCents { get; }

    /// <summary>Recordings that this view leaves out, and of these the ones whose key nobody says.</summary>
    public int NotShown { get; }

    public int Unplaced { get; }

    private static string WayOf(RecordingPlace place) =>
        !place.IsLift ? place.Articulation : place.Articulation.Length > 0 ? $"{place.Articulation}, {Lifts}" : Lifts;

    /// <summary>Trouble is to show at once: the view with the worst recordings is the first one seen.</summary>
    private static string WorstOf(List<SheetRecording> recordings, Func<RecordingPlace, string> of, IReadOnlyList<string> choices) =>
        choices.OrderByDescending(c => recordings.Count(r => of(r.Place!) == c && r.Verdict == SheetVerdict.MustFix))
            .ThenByDescending(c => recordings.Count(r => of(r.Place!) == c && r.Verdict == SheetVerdict.ListenAgain))
            .ThenByDescending(c => recordings.Count(r => of(r.Place!) == c))
            .FirstOrDefault() ?? "";

    private List<PictureKey> KeysOf(List<SheetRecording> shown, SheetWords words)
    {
        if (shown.Count == 0)
            return [];
        var byKey = shown.ToLookup(r => SheetWords.KeyOf(r.Place)!.Value);
        var sounding = shown.SelectMany(r => r.Place is { LowKey: { } low, HighKey: { } high } && low <= high ? Enumerable.Range(low, high - low + 1) : []).ToHashSet();
        var (first, last) = (byKey.Min(g => g.Key), byKey.Max(g => g.Key));
        return [.. Enumerable.Range(first, last - first + 1).Select(key => KeyOf(key, [.. byKey[key]], IsPitched && !byKey[key].Any() && !sounding.Contains(key), words))];
    }

    private PictureKey KeyOf(int key, List<SheetRecording> recordings, bool isMissing, SheetWords words)
    {
        var worst = recordings.OrderBy(r => r.Verdict).ThenBy(r => r.Findings.Count > 0 ? r.Findings.Min(f => f.Order) : int.MaxValue).FirstOrDefault();
        var verdict = isMissing ? SheetVerdict.ListenAgain : worst?.Verdict ?? SheetVerdict.Fine;
        var finding = worst?.Findings.Where(f => f.ExcuseReason is null).OrderBy(f => f.Severity).ThenBy(f => f.Order).FirstOrDefault();
        return new PictureKey(
            key, words.Note(key), verdict, isMissing,
            [.. recordings.OrderBy(r => r.Place!.Layer).ThenBy(r => r.Place!.Take).ThenBy(r => r.Path, StringComparer.Ordinal)
                .Select(r => new PictureTake(Math.Clamp(r.Place!.Layer ?? 1, 1, Layers), r.Verdict))],
            [.. recordings.OrderBy(r => r.Place!.Layer).ThenBy(r => r.Place!.Take).Where(r => SheetWords.Cents(r, IsPitched) is not null)
                .Select(r => (SheetWords.Cents(r, IsPitched)!.Value, r.Verdict))],
            isMissing ? T("no recordings") : finding is null ? "" : SheetWords.Short(finding.Code));
    }

    /// <summary>The picture in sentences, for who can't see it.</summary>
    public string Description
    {
        get
        {
            var parts = new List<string>();
            Say(parts, T("Must fix"), k => k.Verdict == SheetVerdict.MustFix && !k.IsMissing, true);
            Say(parts, T("Listen again"), k => k.Verdict == SheetVerdict.ListenAgain && !k.IsMissing, true);
            Say(parts, T("No recordings"), k => k.IsMissing, false);
            return parts.Count > 0 ? string.Join(". ", parts) + "." : T("Every key shown is fine.");
        }
    }

    private void Say(List<string> parts, string what, Func<PictureKey, bool> which, bool withWords)
    {
        var keys = Keys.Where(which).ToList();
        if (keys.Count > 0)
            parts.Add($"{what}: {string.Join(", ", keys.Select(k => withWords && k.Words.Length > 0 ? $"{k.Name} ({k.Words})" : k.Name))}");
    }
}

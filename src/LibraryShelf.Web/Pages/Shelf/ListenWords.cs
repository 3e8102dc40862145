using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Packaging.Listening;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What is said beside what can be heard.</summary>
internal static class ListenWords
{
    public static string Target => Level(ListeningSet.TargetLufs, "LUFS", "0");

    public static string Limit => Level(ListeningSet.LimitDbtp, "dBTP", "0");

    public static string Of(Excerpt excerpt)
    {
        if (excerpt.Way.Length == 0)
            return excerpt.IsSoftToHard ? T("One key, from soft to hard, each take in turn") : T("Up through its keys, from soft to hard");
        // The maker's own word.
        var way = char.ToUpperInvariant(excerpt.Way[0]) + excerpt.Way[1..];
        return excerpt.IsSoftToHard ? T($"{way}: one key, from soft to hard, each take in turn") : T($"{way}: up through its keys, from soft to hard");
    }

    public static string Of(Unplayed why, string number) => why switch
    {
        Unplayed.BeingMade => T($"What can be heard of {number} is being made: look again in a few minutes."),
        Unplayed.Held => T($"Nothing of {number} can be heard here yet."),
        Unplayed.NothingToPlay => T($"Nothing of {number} can be played here: the shelf can’t read its recordings, or finds no keys that they belong to."),
        _ => T($"Nothing of {number} can be played here yet: the shelf stopped while it made that, and tries again in a day. What is downloaded is not touched by it."),
    };

    public static string About(Excerpt excerpt) => Facts(excerpt.Seconds, excerpt.LoudnessLufs, excerpt.TruePeakDbtp);

    /// <summary>Null when every way of playing is among them.</summary>
    public static string? WaysLeftOut(IReadOnlyList<Excerpt> excerpts)
    {
        var (heard, all) = (excerpts.DistinctBy(e => e.Way).Count(), excerpts.Select(e => e.OfWays).DefaultIfEmpty(0).Max());
        return heard < all ? T($"{heard} of its {all} ways of playing can be heard here.") : null;
    }

    /// <summary>Two sentences, whether or not the maker ended hers.</summary>
    public static string OfMusic(LibraryMusic music) => (music.Credit.TrimEnd('.', ' '), Facts(music.Seconds, music.LoudnessLufs, music.TruePeakDbtp)) switch
    {
        ("", var facts) => facts,
        var (credit, facts) => T($"{credit}. {facts}"),
    };

    private static string Facts(double seconds, double? loudness, double? peak) => string.Join(", ", new[]
    {
        Length(seconds), loudness is { } l ? Level(l, "LUFS", "0.0") : "", peak is { } p ? T($"true peak {Level(p, "dBTP", "0.0")}") : "",
    }.Where(w => w.Length > 0)) + ".";

    private static string Length(double seconds)
    {
        var whole = (int)Math.Max(1, Math.Round(seconds));
        return whole < 60 ? Words.Plural.Of(whole, "second") : T($"{whole / 60}:{whole % 60:00} minutes");
    }

    /// <summary>With a minus, not a hyphen.</summary>
    private static string Level(double value, string unit, string digits) => $"{value.ToString(digits, Say.Culture).Replace('-', '−')}\u00a0{unit}";
}

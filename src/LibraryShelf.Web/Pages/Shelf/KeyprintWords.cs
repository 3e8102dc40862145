using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What a keyprint shows, in sentences from the same figures.</summary>
internal static class KeyprintWords
{
    /// <summary>From here on a start is called slow, milliseconds; common practice, no source.</summary>
    private const double SlowMs = 100;

    /// <summary>"25 keys from C4 to C6, up to 4 loudness layers, up to 2 takes of each"; no full stop.</summary>
    public static string Short(Keyprint print)
    {
        var keys = Plural.Of(print.Keys, "key");
        var parts = new List<string>
        {
            print.Lowest == print.Highest ? $"{keys}, {Notes.Name(print.Lowest)}" : T($"{keys} from {Notes.Name(print.Lowest)} to {Notes.Name(print.Highest)}"),
        };
        if (print.Reeds.Max(r => r.Layers) is > 1 and var layers)
            parts.Add(T($"up to {layers} loudness layers"));
        if (print.Reeds.Max(r => r.Takes) is > 1 and var takes)
            parts.Add(T($"up to {takes} takes of each"));
        return string.Join(", ", parts);
    }

    public static IEnumerable<string> Sentences(Keyprint print)
    {
        yield return Short(print) + ".";
        if (print.Highest - print.Lowest + 1 - print.Keys is > 0 and var gaps)
            yield return gaps == 1 ? T("1 key between has no reed of its own.") : T($"{gaps} keys between have no reed of their own.");
        foreach (var sentence in RingWords(print).Concat(LoudnessWords(print)).Concat(ToneWords(print)).Concat(LeftOut(print)))
            yield return sentence;
    }

    private static IEnumerable<string> RingWords(Keyprint print)
    {
        var looped = print.Reeds.Where(r => r.IsLooped).Select(r => r.Key).Distinct().Count();
        if (looped > 0)
            yield return looped == print.Keys ? T("Every key is looped and sounds as long as it is held.")
                : looped == 1 ? T("1 key is looped and sounds as long as held.") : T($"{looped} keys are looped and sound as long as held.");
        var dying = print.Reeds.Where(r => !r.IsLooped).OrderBy(r => r.Key).ThenBy(r => r.Layer).ToList();
        if (dying.Count == 0)
            yield break;
        var (longest, shortest) = (dying.MaxBy(r => r.RingSeconds)!, dying.MinBy(r => r.RingSeconds)!);
        yield return Seconds(longest.RingSeconds) == Seconds(shortest.RingSeconds)
            ? T($"Its notes ring about {Seconds(longest.RingSeconds)}.")
            : T($"The longest note rings about {Seconds(longest.RingSeconds)} ({Notes.Name(longest.Key)}), the shortest about {Seconds(shortest.RingSeconds)} ({Notes.Name(shortest.Key)}).");
    }

    private static IEnumerable<string> LoudnessWords(Keyprint print)
    {
        var reeds = print.Reeds.OrderBy(r => r.Key).ThenBy(r => r.Layer).ToList();
        if (reeds.Count < 2)
            yield break;
        var (loudest, softest) = (reeds.MaxBy(r => r.LoudnessDb)!, reeds.MinBy(r => r.LoudnessDb)!);
        yield return Math.Round(loudest.LoudnessDb - softest.LoudnessDb) is > 0 and var span
            ? T($"The softest reed ({Notes.Name(softest.Key)}) is {span.ToString("0", Say.Culture)} dB below the loudest ({Notes.Name(loudest.Key)}).")
            : T("All reeds are about equally loud.");
    }

    private static IEnumerable<string> ToneWords(Keyprint print)
    {
        var keys = print.Reeds.GroupBy(r => r.Key).OrderBy(g => g.Key).Select(g => (g.Key, Hz: g.Average(r => r.BrightnessHz))).ToList();
        if (keys.Count > 1)
            yield return T($"The brightest key is {Notes.Name(keys.MaxBy(k => k.Hz).Key)}, the darkest {Notes.Name(keys.MinBy(k => k.Hz).Key)}.");
        if (print.Reeds.Where(r => r.AttackMs > SlowMs).Select(r => r.Key).Distinct().Count() is > 0 and var slow)
            yield return slow == print.Keys ? T("Every key starts slowly.") : slow == 1 ? T("1 key starts slowly.") : T($"{slow} keys start slowly.");
    }

    private static IEnumerable<string> LeftOut(Keyprint print)
    {
        if (print.OtherRecordings is > 0 and var others)
            yield return $"{Drawn(print)} {(others == 1 ? T("1 other recording is not in the picture.") : T($"{others} other recordings are not in the picture."))}";
        if (print.WithoutKey is > 0 and var keyless)
            yield return keyless == 1 ? T("1 recording with no key of its own is not drawn.") : T($"{keyless} recordings with no key of their own are not drawn.");
        if (print.Unmeasured is > 0 and var unmeasured)
            yield return unmeasured == 1
                ? T("1 reed is left out: the recordings end before they have died away, so how long they ring is not known.")
                : T($"{unmeasured} reeds are left out: the recordings end before they have died away, so how long they ring is not known.");
    }

    private static string Drawn(Keyprint print) => (print.Articulation, print.Microphone) switch
    {
        ("", "") => T("The main recordings are drawn."),
        (var way, "") => T($"Drawn is the way of playing “{way}”."),
        ("", var microphone) => T($"Drawn is the microphone “{microphone}”."),
        var (way, microphone) => T($"Drawn is the way of playing “{way}” at the microphone “{microphone}”."),
    };

    /// <summary>"0.08 s", "0.8 s", "1.4 s", "9 s", "23 s": two figures, one from 2 s to 10.</summary>
    public static string Seconds(double seconds) => T($"{Figures(seconds)} s");

    private static string Figures(double seconds) => seconds switch
    {
        < 0.1 => Math.Max(0.01, Math.Round(seconds, 2)).ToString("0.##", Say.Culture),
        < 2 => seconds.ToString("0.#", Say.Culture),
        _ => Math.Round(seconds, MidpointRounding.AwayFromZero).ToString("0", Say.Culture),
    };
}

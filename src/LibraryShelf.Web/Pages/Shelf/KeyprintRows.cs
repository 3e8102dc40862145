using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>One key of a keyprint in figures: what its reeds have, from the least to the most where they differ.</summary>
/// <param name="Key">"C4".</param>
/// <param name="Layers">Loudness layers that are drawn.</param>
/// <param name="Takes">Most takes of a layer.</param>
/// <param name="Rings">"0.8 s to 1.4 s", or that it sounds as long as it is held.</param>
/// <param name="Loudness">dB below the loudest reed of the picture, "0" for it.</param>
/// <param name="Brightness">Spectral centroid, Hz.</param>
/// <param name="Starts">From its start to its loudest, ms.</param>
internal sealed record KeyprintRow(string Key, int Layers, int Takes, string Rings, string Loudness, string Brightness, string Starts);

/// <summary>What the picture draws, key by key, low notes first.</summary>
internal static class KeyprintRows
{
    public static IEnumerable<KeyprintRow> Of(Keyprint print)
    {
        var loudest = print.Reeds.Select(r => r.LoudnessDb).DefaultIfEmpty().Max();
        foreach (var key in print.Reeds.GroupBy(r => r.Key).OrderBy(g => g.Key))
        {
            var dying = key.Where(r => !r.IsLooped).ToList();
            yield return new(
                Notes.Name(key.Key), key.Count(), key.Max(r => r.Takes),
                dying.Count == 0 ? T("while held") : Span(dying, r => r.RingSeconds, KeyprintWords.Seconds),
                Span(key, r => r.LoudnessDb - loudest, db => db > -0.5 ? "0" : "−" + (-db).ToString("0", Say.Culture)),
                Span(key, r => r.BrightnessHz, hz => hz.ToString("#,0", Say.Culture)),
                Span(key, r => r.AttackMs, ms => ms.ToString("0", Say.Culture)));
        }
    }

    private static string Span(IEnumerable<Reed> reeds, Func<Reed, double> figure, Func<double, string> words)
    {
        var figures = reeds.Select(figure).ToList();
        var (least, most) = (words(figures.Min()), words(figures.Max()));
        return least == most ? least : T($"{least} to {most}");
    }
}

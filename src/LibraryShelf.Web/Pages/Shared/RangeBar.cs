using System.Collections.Concurrent;
using System.Globalization;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>A range on 88 keys, 150 px wide, with a tick at every C. Each is written once: a long list has hundreds, and many alike.</summary>
internal static class RangeBar
{
    private const double Column = 150.0 / KeyRuler.Columns;

    private static readonly string Line = "M0 9.5h150" + string.Concat(Enumerable.Range(2, 7).Select(octave => $"M{X(octave * 12)} 9.5v4"));

    private static readonly ConcurrentDictionary<(int? Low, int? High), HtmlString> Written = new();

    /// <param name="low">MIDI 0 to 127; null: no keys are mapped.</param>
    /// <param name="high">Not below <paramref name="low"/>.</param>
    public static IHtmlContent Of(int? low, int? high) => Written.GetOrAdd((low, high), Write);

    private static HtmlString Write((int? Low, int? High) range)
    {
        var (low, high) = (KeyRuler.Within(range.Low ?? 0), KeyRuler.Within(range.High ?? 0));
        var words = range.Low is null ? T("no keys mapped") : Notes.Range(range.Low, range.High);
        var ink = range.Low is null ? "" : $"""<rect class="range-ink" x="{X(low)}" y="0" height="9" width="{N((high - low + 1) * Column)}"/>""";
        return new HtmlString($"""<svg class="range-bar" viewBox="0 0 150 14" width="150" height="14" role="img" aria-label="{words}"><path class="range-line" d="{Line}"/>{ink}</svg>""");
    }

    private static string X(double key) => N((key - KeyRuler.Lowest) * Column);

    private static string N(double value) => value.ToString("0.#", CultureInfo.InvariantCulture);
}

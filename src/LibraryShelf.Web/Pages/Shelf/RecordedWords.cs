using System.Globalization;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>How a version was recorded, as people say it.</summary>
internal static class RecordedWords
{
    /// <summary>"48 kHz, 24 bits, stereo"; where there are several of a kind "44.1 and 48 kHz".</summary>
    public static string Form(Recorded recorded) => string.Join(", ", new[]
    {
        T($"{And(recorded.Rates.Select(KiloHertz))} kHz"),
        recorded.Bits.Count == 0 ? "" : T($"{And(recorded.Bits.Select(Number))} bits"),
        recorded.FloatBits.Count == 0 ? "" : T($"{And(recorded.FloatBits.Select(Number))} bits of floating point"),
        And(recorded.Channels.Select(Channels)),
    }.Where(w => w.Length > 0));

    /// <summary>"2 h 14 min", "38 min", "50 s": of all recordings one after the other.</summary>
    public static string Length(Recorded recorded)
    {
        var minutes = (int)Math.Round(recorded.Seconds / 60);
        return recorded.Seconds < 90 ? T($"{(int)Math.Ceiling(recorded.Seconds)} s") : minutes < 60 ? T($"{minutes} min") : T($"{minutes / 60} h {minutes % 60} min");
    }

    private static string KiloHertz(int rate) => (rate / 1000.0).ToString("0.###", CultureInfo.InvariantCulture);

    private static string Number(int value) => value.ToString(CultureInfo.InvariantCulture);

    private static string Channels(int channels) => channels switch { 1 => T("mono"), 2 => T("stereo"), _ => T($"{channels} channels") };

    private static string And(IEnumerable<string> words) => words.ToList() switch
    {
        [] => "",
        [var one] => one,
        [.. var before, var last] => T($"{string.Join(", ", before)} and {last}"),
    };
}

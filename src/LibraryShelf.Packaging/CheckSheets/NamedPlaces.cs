using System.Globalization;
using System.Text.RegularExpressions;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// What a recording's name says of its place where no mapping does: a loudness ("soft", "mf", "v3"), a take ("rr2", "take 2", a number at
/// the end), a lift ("lift", "release"). Common practice, no source.
/// </summary>
internal static partial class NamedPlaces
{
    /// <summary>Softest first; words of one line are one loudness.</summary>
    private static readonly string[][] Loudness =
    [
        ["ppp", "softest"], ["pp"], ["p", "soft"], ["mp"], ["mf", "medium"], ["f", "firm"], ["ff", "hard", "loud"], ["fff", "hardest"],
    ];

    public static Dictionary<string, RecordingPlace> Of(IReadOnlyList<string> paths, IReadOnlyDictionary<string, DeclaredNote> notes)
    {
        var read = paths.Select(p => (Path: p, Note: notes.GetValueOrDefault(p)?.Note, Said: Read(p))).ToList();
        var places = new Dictionary<string, RecordingPlace>(StringComparer.Ordinal);
        foreach (var same in read.GroupBy(r => (r.Note, r.Said.IsLift)))
        {
            // Of recordings without a note nothing says that they belong together.
            var layers = same.Key.Note is null ? [] : same.Select(r => r.Said.Loudness).OfType<int>().Distinct().Order().ToList();
            foreach (var (path, _, said) in same)
                places[path] = new RecordingPlace
                {
                    Path = path,
                    Layer = said.Loudness is { } loudness && layers.Count > 0 ? layers.IndexOf(loudness) + 1 : null,
                    Layers = layers.Count > 0 ? layers.Count : null,
                    Take = said.Take,
                    IsLift = said.IsLift,
                };
        }
        return places;
    }

    private static (int? Loudness, int? Take, bool IsLift) Read(string path)
    {
        var name = Path.GetFileNameWithoutExtension(path).ToLowerInvariant();
        var words = Separator().Split(name);
        var loudness = Array.FindIndex(Loudness, line => words.Any(line.Contains)) is >= 0 and var found ? found : NumberOf(Velocity().Match(name));
        return (loudness, NumberOf(Take().Match(name)), words.Any(w => w is "lift" or "lifts" or "release" or "rel"));
    }

    private static int? NumberOf(Match match) =>
        match.Success && int.TryParse(match.Groups["number"].Value, NumberStyles.None, CultureInfo.InvariantCulture, out var number) ? number : null;

    [GeneratedRegex(@"[^a-z0-9]+", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Separator();

    /// <summary>v3, vel100, layer2: a loudness by number, greater is louder.</summary>
    [GeneratedRegex(@"(?:(?<![a-z])(?:v|vel|layer|l)|(?<=[a-g][#sb]?[0-9])v)[ _-]?(?<number>[0-9]{1,3})(?![0-9])", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Velocity();

    [GeneratedRegex(@"(?:(?<![a-z])(?:rr|take|t)[ _-]?|[ _-])(?<number>[0-9]{1,2})\z", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Take();
}

using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>How many of a box's people have what is its latest version today, over the days: one area, 0 to 100 %, small.</summary>
internal sealed class ShareSketch(VersionShares shares)
{
    public const int Width = 200, Height = 64;

    /// <summary>From the first day on which anybody had it; empty: nobody has.</summary>
    public string Path { get; } = PathOf(shares);

    /// <summary>"66 % on 2.1.0".</summary>
    public string Latest => shares.Latest is not { } latest ? T("none on the shelf")
        : shares.Has(latest) == 0 ? T($"nobody on {latest.Number}")
        : T($"{VersionWords.Percent(shares.Has(latest), shares.People)} on {latest.Number}");

    /// <summary>The oldest that anybody has beside it: "1.0.0: under 1 %"; empty: everybody has the latest.</summary>
    public string Other => shares.Versions.FirstOrDefault(v => v.Id != shares.LatestId && shares.Has(v) > 0) is { } oldest ? $"{oldest.Number}: {VersionWords.Percent(shares.Has(oldest), shares.People)}" : "";

    private static string PathOf(VersionShares shares)
    {
        if (shares.Latest is not { } latest)
            return "";
        var place = shares.IndexOf(latest);
        var path = new StringBuilder();
        for (var i = 0; i < shares.Days.Count; i++)
        {
            var day = shares.Days[i];
            if (day.People[place] == 0 && path.Length == 0)
                continue;
            var x = shares.Days.Count == 1 ? Width : (double)Width * i / (shares.Days.Count - 1);
            if (path.Length == 0)
                path.Append(CultureInfo.InvariantCulture, $"M{x:0.#} {Height}");
            path.Append(CultureInfo.InvariantCulture, $"L{x:0.#} {Height * (1 - (day.Total == 0 ? 0 : (double)day.People[place] / day.Total)):0.#}");
        }
        return path.Length == 0 ? "" : path.Append(CultureInfo.InvariantCulture, $"L{Width} {Height}Z").ToString();
    }
}

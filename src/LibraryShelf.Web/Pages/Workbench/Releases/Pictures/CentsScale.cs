namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>Cents of the plain estimates along an axis; what is beyond its end is drawn at the end.</summary>
internal sealed record CentsScale(int Most)
{
    /// <summary>±25 cents when nine of ten lie within, else ±50: an estimate further off is of another note.</summary>
    public static CentsScale For(PictureKeys keys)
    {
        var all = keys.Keys.SelectMany(k => k.Cents).Select(c => Math.Abs(c.Cents)).Order().ToList();
        return new CentsScale(all.Count == 0 || all[all.Count * 9 / 10] <= 25 ? 25 : 50);
    }

    public IEnumerable<int> Lines => Most == 25 ? [20, 10, 0, -10, -20] : [40, 20, 0, -20, -40];

    /// <summary>−1 to 1.</summary>
    public double Place(double cents) => Math.Clamp(cents / Most, -1, 1);

    public static string Name(int cents) => cents switch { > 0 => $"+{cents}", < 0 => $"−{-cents}", _ => "0" };
}

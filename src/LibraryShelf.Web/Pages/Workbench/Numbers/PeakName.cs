using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>What stands at a peak: its figure, and the drop or the version for which people came, where one is known; else its day.</summary>
/// <param name="Words">All of it, for who does not see the picture: "16 Oct, Jam-jar Marimba 2.0.0 out: 209".</param>
/// <param name="Wide">In a picture of a page's width: "Jam-jar Marimba 2.0.0 out: 209".</param>
/// <param name="Tight">In one of a phone's: "2.0.0 out: 209".</param>
internal sealed record PeakName(string Words, string Wide, string Tight)
{
    /// <summary>Letters that fit into <see cref="DayBars.NameShare"/> of a picture, of one of 936 px and of one of a phone's 358.</summary>
    private const int MostWide = 38, MostTight = 17;

    /// <param name="bar">"1 Nov", "week of 2 Nov".</param>
    /// <param name="figure">"473".</param>
    /// <param name="isDay">Else it is a week or a month, and says which.</param>
    /// <param name="came">What came out in it.</param>
    /// <param name="before">What came out on the day before: who comes in the evening is still here in the morning. Names nothing where something came out on the day itself.</param>
    public static PeakName Of(string bar, string figure, bool isDay, IReadOnlyList<CameOut> came, IReadOnlyList<CameOut> before)
    {
        var plain = $"{bar}: {figure}";
        // A week's or a month's come in the order of their days, and whatever else came in it, it was the drop's.
        came = [.. came.OrderByDescending(c => c.Month is not null)];
        var (words, wide, tight) = (came, before, isDay) switch
        {
            ([{ Month: not null }, ..], _, true) => Same(T($"{bar} drop: {figure}")),
            ([{ Month: not null }, ..], _, false) => InLongBar(T($"{bar}, drop: {figure}")),
            ([var one], _, true) => (T($"{bar}, {one.Box} {one.Number} out: {figure}"), T($"{one.Box} {one.Number} out: {figure}"), T($"{one.Number} out: {figure}")),
            ([var one], _, false) => InLongBar(T($"{bar}, {one.Box} {one.Number} out: {figure}")),
            ([_, ..], _, true) => (T($"{bar}, {Plural.Of(came.Count, "version")} out: {figure}"), T($"{Plural.Of(came.Count, "version")} out: {figure}"), T($"{Plural.Of(came.Count, "version")} out: {figure}")),
            ([_, ..], _, false) => InLongBar(T($"{bar}, {Plural.Of(came.Count, "version")} out: {figure}")),
            ([], [{ Month: not null }, ..], true) => (T($"{bar}, after the drop: {figure}"), T($"{bar}, after the drop: {figure}"), T($"after the drop: {figure}")),
            ([], [var one], true) => (T($"{bar}, after {one.Box} {one.Number}: {figure}"), T($"after {one.Box} {one.Number}: {figure}"), T($"after {one.Number}: {figure}")),
            ([], [_, ..], true) => (T($"{bar}, after {Plural.Of(before.Count, "version")}: {figure}"), T($"after {Plural.Of(before.Count, "version")}: {figure}"), T($"after {Plural.Of(before.Count, "version")}: {figure}")),
            _ => Same(plain),
        };
        var fits = tight.Length <= MostTight ? tight : plain;
        return new(words, wide.Length <= MostWide ? wide : fits, fits);

        static (string, string, string) Same(string name) => (name, name, name);
        // Its own days take the room that a phone has.
        (string, string, string) InLongBar(string name) => (name, name, plain);
    }

    /// <summary>For a table: "The drop, Jam-jar Marimba 2.0.0".</summary>
    public static string Table(IEnumerable<CameOut> came) => string.Join(", ", came.Select(c => c.Month is null ? $"{c.Box} {c.Number}" : T("The drop")));
}

using System.Globalization;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>
/// The picture of how long each version took: a line a version, from the day it came out to a ring (half of those who had the box have it) and a block (nine in ten).
/// What is not reached yet is dashed, up to today or to where the picture ends. All lines in one scale of days.
/// </summary>
internal sealed class HowLongRows
{
    /// <summary>Room at both sides for the figures, percent.</summary>
    private const double Left = 9, Right = 18;

    /// <summary>Where a picture may end, days: what people count in.</summary>
    private static readonly int[] Ends = [2, 4, 7, 14, 21, 30, 45, 60, 90, 120, 180, 365, 730, 1095, 1825];

    public HowLongRows(IReadOnlyList<VersionUptake> uptakes, long? latestId, LocalDate today)
    {
        var known = uptakes.SelectMany(u => new[] { u.DaysToHalf, u.DaysToMost }).OfType<int>().ToList();
        // A fifth more, so that a dashed line has where to go on.
        var needed = known.Count == 0 ? uptakes.Max(u => SoFar(u, today)) : known.Max() + (known.Max() / 5) + 1;
        Days = Ends.FirstOrDefault(e => e >= needed, needed);
        Rows = [.. uptakes.Select(u => Row(u, u.Version.Id == latestId, today))];
        Words = string.Join(" ", uptakes.Select(Said));
    }

    /// <param name="RingX">Percent of the width; null: half is not reached yet.</param>
    /// <param name="BlockX">The same of nine in ten.</param>
    /// <param name="SolidTo">Where the line ends that is known.</param>
    /// <param name="DashedTo">Where it ends that waits; null: all is reached.</param>
    internal sealed record Line(string Name, bool IsLatest, string? RingX, int? Half, string? BlockX, int? Most, string SolidTo, string? DashedTo);

    public IReadOnlyList<Line> Rows { get; }

    /// <summary>At the right end of the scale.</summary>
    public int Days { get; }

    /// <summary>The picture for who does not see it.</summary>
    public string Words { get; }

    public string At(int days) => (Left + ((100 - Left - Right) * Math.Min(days, Days) / Days)).ToString("0.##", CultureInfo.InvariantCulture) + "%";

    private Line Row(VersionUptake uptake, bool isLatest, LocalDate today)
    {
        var solid = uptake.DaysToMost ?? uptake.DaysToHalf ?? 0;
        return new(uptake.Version.Number, isLatest, Place(uptake.DaysToHalf), uptake.DaysToHalf, Place(uptake.DaysToMost), uptake.DaysToMost, At(solid),
            uptake.DaysToMost is null ? At(Math.Max(solid, SoFar(uptake, today))) : null);
    }

    private static string Said(VersionUptake uptake) => (uptake.DaysToHalf, uptake.DaysToMost) switch
    {
        (null, _) => T($"{uptake.Version.Number}: half not yet."),
        ({ } half, null) => T($"{uptake.Version.Number}: half {After(half)}, nine in ten not yet."),
        ({ } half, { } most) => T($"{uptake.Version.Number}: half {After(half)}, nine in ten {After(most)}."),
    };

    private static string After(int days) => days == 0 ? T("on the same day") : T($"after {Plural.Of(days, "day")}");

    private string? Place(int? days) => days is { } d ? At(d) : null;

    private static int SoFar(VersionUptake uptake, LocalDate today) => Math.Max(1, Period.DaysBetween(uptake.Version.OutOn!.Value, today));
}

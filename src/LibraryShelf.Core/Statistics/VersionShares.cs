using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>A version of a box as the figures name it.</summary>
/// <param name="Id">Of the version.</param>
/// <param name="Number">SemVer.</param>
/// <param name="OutOn">The shop's day on which it came out; null: it never did (given early).</param>
public sealed record ShareVersion(long Id, string Number, LocalDate? OutOn);

/// <summary>How many people have each version at the end of a day, in the order of <see cref="VersionShares.Versions"/>.</summary>
public sealed record ShareDay(LocalDate Day, IReadOnlyList<int> People)
{
    public int Total => People.Sum();
}

/// <summary>How a version was taken up by those who had the box when it came out.</summary>
/// <param name="Version">Which.</param>
/// <param name="Had">How many they are; 0: nobody had the box, so there is nothing to wait for.</param>
/// <param name="Have">Of them, who has it or a higher one by now.</param>
/// <param name="DaysToHalf">Whole days until half of them had; null: not yet.</param>
/// <param name="DaysToMost">The same of nine in ten.</param>
public sealed record VersionUptake(ShareVersion Version, int Had, int Have, int? DaysToHalf, int? DaysToMost);

/// <summary>
/// Who is on which version of a box: in the days of <paramref name="Range"/>, of <paramref name="TimeZone"/>.
/// </summary>
/// <param name="Box">Null: there is none with a version.</param>
/// <param name="Boxes">That can be chosen.</param>
/// <param name="Range">The days shown.</param>
/// <param name="TimeZone">IANA.</param>
/// <param name="Versions">Lowest number first: those that came out by the end of these days, those that anybody had in them, and the latest.</param>
/// <param name="LatestId">Of them, the highest on the shelf; null: none is.</param>
/// <param name="Days">Each day, oldest first.</param>
/// <param name="Uptakes">Of each version that came out while anybody had the box, newest first; of as many versions as were asked for, not bounded by the days shown.</param>
public sealed record VersionShares(
    NumbersBox? Box, IReadOnlyList<NumbersBox> Boxes, DayRange Range, string TimeZone,
    IReadOnlyList<ShareVersion> Versions, long? LatestId, IReadOnlyList<ShareDay> Days, IReadOnlyList<VersionUptake> Uptakes)
{
    /// <summary>People at the end of the last day.</summary>
    public int People => Days.Count == 0 ? 0 : Days[^1].Total;

    public ShareVersion? Latest => Versions.FirstOrDefault(v => v.Id == LatestId);

    /// <summary>How many have this version at the end of the last day.</summary>
    public int Has(ShareVersion version) => Days.Count == 0 ? 0 : Days[^1].People[IndexOf(version)];

    public int IndexOf(ShareVersion version)
    {
        for (var i = 0; i < Versions.Count; i++)
            if (Versions[i].Id == version.Id)
                return i;
        return -1;
    }
}

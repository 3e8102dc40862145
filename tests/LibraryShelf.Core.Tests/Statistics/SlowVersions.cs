using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>A version as the slow one knows it; <paramref name="Place"/>: its precedence in its library, 1 the lowest.</summary>
internal sealed record SlowVersion(long Id, long LibraryId, int Place, DateTimeOffset? OutAt);

/// <summary>
/// Who is on which version, as docs/counting.md says, sentence by sentence, from the raw rows alone: asks each person anew for each day. Slow, and written without a look at the fast one; what somebody finished of a box is found once.
/// </summary>
/// <param name="downloads">All.</param>
/// <param name="finishedAt">Of a download, by its id.</param>
/// <param name="inMonth">The versions of a drop.</param>
/// <param name="versions">All.</param>
/// <param name="zone">The shop's.</param>
internal sealed class SlowVersions(
    IReadOnlyList<Download> downloads, IReadOnlyDictionary<string, DateTimeOffset> finishedAt, ILookup<long, long> inMonth, IReadOnlyList<SlowVersion> versions, DateTimeZone zone)
{
    private readonly Dictionary<(long Person, long Library), List<(SlowVersion Version, DateTimeOffset At)>> found = [];

    private IEnumerable<long> People => downloads.Select(d => d.PersonId).OfType<long>().Distinct();

    /// <summary>Which version a person had just before an instant; null: none of this library.</summary>
    private SlowVersion? VersionBefore(long person, long library, DateTimeOffset before) => Finished(person, library).Where(f => f.At < before).Select(f => f.Version).MaxBy(v => v.Place);

    private List<(SlowVersion Version, DateTimeOffset At)> Finished(long person, long library) =>
        found.TryGetValue((person, library), out var all) ? all : found[(person, library)] = [.. Find(person, library)];

    private IEnumerable<(SlowVersion Version, DateTimeOffset At)> Find(long person, long library) =>
        from d in downloads
        where d.PersonId == person && d.Why != MayDownloadWhy.Maker && finishedAt.ContainsKey(d.Id)
        from id in d.DropId is { } month ? inMonth[month] : [d.ReleaseId]
        let version = versions.Single(v => v.Id == id)
        where version.LibraryId == library
        select (version, finishedAt[d.Id]);

    private DateTimeOffset EndOf(LocalDate day) => day.PlusDays(1).AtStartOfDayInZone(zone).ToDateTimeOffset();

    private LocalDate DayOf(DateTimeOffset at) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    /// <summary>How many people have each version at the end of a day: by the version's id, without those nobody has.</summary>
    public Dictionary<long, int> AtEndOf(LocalDate day, long library) => People.Select(p => VersionBefore(p, library, EndOf(day))).OfType<SlowVersion>()
        .GroupBy(v => v.Id).ToDictionary(g => g.Key, g => g.Count());

    /// <summary>"person 5 library 1: 3 since 1795564800000", of everybody who has any; in order.</summary>
    public List<string> Today()
    {
        var lines = (from p in People
                     from library in versions.Select(v => v.LibraryId).Distinct()
                     let all = Finished(p, library)
                     where all.Count > 0
                     let highest = all.MaxBy(f => f.Version.Place).Version
                     select $"person {p} library {library}: {highest.Id} since {all.Where(f => f.Version == highest).Min(f => f.At).ToUnixTimeMilliseconds()}").ToList();
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>How many had the library when this version came out, and after how many days so many in ten of them had it or a higher one; null: not by that day.</summary>
    public (int Had, int? Days) DaysTo(int inTen, long versionId, LocalDate last)
    {
        var version = versions.Single(v => v.Id == versionId);
        var had = People.Where(p => VersionBefore(p, version.LibraryId, version.OutAt!.Value) is not null).ToList();
        if (had.Count == 0)
            return (0, null);
        var days = 0;
        for (var day = DayOf(version.OutAt!.Value); day <= last; day = day.PlusDays(1), days++)
            if (had.Count(p => VersionBefore(p, version.LibraryId, EndOf(day)) is { } has && has.Place >= version.Place) * 10 >= had.Count * inTen)
                return (had.Count, days);
        return (had.Count, null);
    }
}

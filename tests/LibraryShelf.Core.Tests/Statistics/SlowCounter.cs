using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// Counts as docs/counting.md says, sentence by sentence, from the raw rows alone: a look at every byte, every pair and every day. Slow, and written without
/// a look at the fast one.
/// </summary>
internal sealed class SlowCounter(IReadOnlyList<Download> downloads, IReadOnlyList<DownloadEvent> events, Func<long, long> lengthOf, DateTimeZone zone)
{
    /// <summary>"2026-10-25 release 1 month 0 Whole Free: 3 started, 2 finished, 4 requests, 1 resumed, 123 bytes"; days, and lines of a day, in order.</summary>
    public List<string> Counts() => Counts(day => $"{day:uuuu-MM-dd}");

    /// <summary>The same of months: "2026-10 release 1 …".</summary>
    public List<string> CountsOfMonths() => Counts(day => $"{day:uuuu-MM}");

    /// <summary>"2026-10-25: 3 started, 2 finished" of all listeners, for days of which anything is known of them.</summary>
    public List<string> Sums() =>
        [.. Days().Select(day => (day, Heard: downloads.Where(d => By(d) is FetchedBy.Free or FetchedBy.Members).ToList()))
            .Where(d => d.Heard.Exists(h => StartedOn(h) == d.day || FinishedOn(h) == d.day))
            .Select(d => $"{d.day:uuuu-MM-dd}: {d.Heard.Count(h => StartedOn(h) == d.day && !IsDoubleClick(h))} started, {d.Heard.Count(h => FinishedOn(h) == d.day && !IsDoubleClick(h))} finished").Order(StringComparer.Ordinal)];

    private List<string> Counts(Func<LocalDate, string> periodOf)
    {
        var lines = new List<string>();
        foreach (var period in Days().Select(periodOf).Distinct())
            foreach (var what in downloads.Select(d => (d.ReleaseId, Drop: d.DropId ?? 0, Kind: Kind(d), By: By(d))).Distinct())
            {
                var those = downloads.Where(d => (d.ReleaseId, d.DropId ?? 0, Kind(d), By(d)) == what).ToList();
                var begun = those.Where(d => StartedOn(d) is { } day && periodOf(day) == period).ToList();
                var ended = those.Where(d => FinishedOn(d) is { } day && periodOf(day) == period).ToList();
                var started = begun.Count(d => !IsDoubleClick(d));
                var finished = ended.Count(d => !IsDoubleClick(d));
                if (begun.Count + ended.Count > 0)
                    lines.Add($"{period} release {what.ReleaseId} month {what.Drop} {what.Kind} {what.By}: {started} started, {finished} finished, {begun.Count(d => Finished(d) is not null && !IsDoubleClick(d))} ended, {begun.Sum(Requests)} requests, {begun.Sum(Resumes)} resumed, {begun.Sum(Bytes)} bytes");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>"2026-10-25 library 0: 5 people, 2 signed in", for days on which any was.</summary>
    public List<string> People()
    {
        var lines = new List<string>();
        foreach (var day in Days())
            foreach (var library in downloads.Select(d => d.LibraryId).Append(0).Distinct())
            {
                var who = downloads.Where(d => IsOf(d, library) && StartedOn(d) == day && By(d) is FetchedBy.Free or FetchedBy.Members)
                    .Select(d => d.PersonId is { } id ? $"person {id}" : d.Visitor is { } visitor ? $"visitor {visitor}" : null).Where(w => w is not null).Distinct().ToList();
                if (who.Count > 0)
                    lines.Add($"{day:uuuu-MM-dd} library {library}: {who.Count} people, {who.Count(w => w!.StartsWith("person", StringComparison.Ordinal))} signed in");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>"2026-10 library 0: 2 signed in", for months in which any was.</summary>
    public List<string> Months()
    {
        var lines = new List<string>();
        foreach (var month in Days().Select(d => d.ToYearMonth()).Distinct())
            foreach (var library in downloads.Select(d => d.LibraryId).Append(0).Distinct())
            {
                var who = downloads.Where(d => IsOf(d, library) && StartedOn(d)?.ToYearMonth() == month && d.PersonId is not null && By(d) != FetchedBy.Maker)
                    .Select(d => d.PersonId).Distinct().Count();
                if (who > 0)
                    lines.Add($"{month:uuuu-MM} library {library}: {who} signed in");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>Of all; or of one box alone, which a month fetched as one archive is none of.</summary>
    private static bool IsOf(Download d, long library) => library == 0 || (d.LibraryId == library && d.DropId is null);

    private IEnumerable<LocalDate> Days() => downloads.SelectMany(d => new[] { StartedOn(d), FinishedOn(d) }).OfType<LocalDate>().Distinct();

    private List<DownloadEvent> Of(Download download) => [.. events.Where(e => e.DownloadId == download.Id).OrderBy(e => e.Id)];

    private LocalDate? StartedOn(Download d) => Started(d) is { } at ? Day(at) : null;

    private LocalDate? FinishedOn(Download d) => Finished(d) is { } at ? Day(at) : null;

    private LocalDate Day(DateTimeOffset at) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    /// <summary>The first request, when ever more than two bytes were handed over in one go or a resume proved some.</summary>
    private DateTimeOffset? Started(Download d) => Of(d).Exists(e => e.IsEvidence || e.To - e.From > 2) || Finished(d) is not null ? d.StartedAt : null;

    private DateTimeOffset? Finished(Download d)
    {
        var has = new bool[lengthOf(d.ArchiveId)];
        foreach (var e in Of(d))
        {
            for (var i = e.From; i < e.To; i++)
                has[i] = true;
            if (Array.TrueForAll(has, h => h))
                return e.At;
        }
        return null;
    }

    /// <summary>Answers with bytes; one of two is asked for by a probe.</summary>
    private int Requests(Download d) => Of(d).Count(e => e.BeginsAnswer && e.To - e.From > 2);

    private int Resumes(Download d) => Of(d).Count(e => e.IsEvidence);

    private long Bytes(Download d) => Of(d).Where(e => !e.IsEvidence).Sum(e => e.To - e.From);

    private bool IsDoubleClick(Download d) => Started(d) is { } at && downloads.Any(o => o.Id != d.Id && o.ArchiveId == d.ArchiveId && IsSame(o, d)
        && Started(o) is { } then && then - at <= TimeSpan.FromSeconds(30) && (then > at || (then == at && string.CompareOrdinal(o.Id, d.Id) > 0)));

    private static bool IsSame(Download a, Download b) =>
        a.PersonId is not null || b.PersonId is not null ? a.PersonId == b.PersonId : a.Visitor is not null && a.Visitor == b.Visitor;

    private static FetchedKind Kind(Download d) => d.DropId is not null ? FetchedKind.Month : d.FromReleaseId is not null ? FetchedKind.Update : FetchedKind.Whole;

    private FetchedBy By(Download d)
    {
        if (d.Why == MayDownloadWhy.Maker)
            return FetchedBy.Maker;
        if (d.PersonId is null && (d.IsRobot || (d.Visitor is not null && downloads.Count(o => o.PersonId is null && o.Visitor == d.Visitor && StartedOn(o) == StartedOn(d)) > 40)))
            return FetchedBy.Robots;
        return d.Why == MayDownloadWhy.Free ? FetchedBy.Free : FetchedBy.Members;
    }
}

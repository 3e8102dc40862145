using System.Runtime.CompilerServices;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// Counts as docs/counting.md says, sentence by sentence, from the raw rows alone: a look at every byte, every pair and every day. Slow, and written without
/// a look at the fast one. What was once answered of a download is kept, so that a thousand histories can be asked about.
/// </summary>
internal sealed class SlowCounter(IReadOnlyList<Download> downloads, IReadOnlyList<DownloadEvent> events, Func<long, long> lengthOf, DateTimeZone zone)
{
    private readonly Dictionary<(string DownloadId, string Question), object?> answered = [];

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
        var periods = Days().Select(periodOf).Distinct().ToList();
        foreach (var those in downloads.GroupBy(d => (d.ReleaseId, Drop: d.DropId ?? 0, Kind: Kind(d), By: By(d))))
            foreach (var period in periods)
            {
                var what = those.Key;
                var begun = those.Where(d => StartedOn(d) is { } day && periodOf(day) == period).ToList();
                var ended = those.Where(d => FinishedOn(d) is { } day && periodOf(day) == period).ToList();
                var started = begun.Count(d => !IsDoubleClick(d));
                var finished = ended.Count(d => !IsDoubleClick(d));
                if (begun.Count + ended.Count > 0)
                    lines.Add($"{period} release {what.ReleaseId} month {what.Drop} {what.Kind} {what.By}: {started} started, {finished} finished, {begun.Count(d => Finished(d) is not null && !IsDoubleClick(d))} ended, {begun.Sum(Requests)} requests, {begun.Sum(Resumes)} resumed, {begun.Sum(Bytes)} bytes{Left([.. begun.Where(d => Finished(d) is null && !IsDoubleClick(d))])}");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>"2026-10-25 library 0: 5 people, 2 signed in, 4 free, 1 for members", for days on which any was.</summary>
    public List<string> People()
    {
        var lines = new List<string>();
        foreach (var day in Days())
            foreach (var library in downloads.Select(d => d.LibraryId).Append(0).Distinct())
            {
                var those = downloads.Where(d => IsOf(d, library) && StartedOn(d) == day && By(d) is FetchedBy.Free or FetchedBy.Members && Who(d) is not null).ToList();
                var who = those.Select(Who).Distinct().ToList();
                if (who.Count > 0)
                    lines.Add($"{day:uuuu-MM-dd} library {library}: {who.Count} people, {who.Count(w => w!.StartsWith("person", StringComparison.Ordinal))} signed in, {Free(those)} free, {ForMembers(those)} for members");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    private static string? Who(Download d) => d.PersonId is { } id ? $"person {id}" : d.Visitor is { } visitor ? $"visitor {visitor}" : null;

    /// <summary>Who started something free for everyone, each once; a visitor has nothing else.</summary>
    private static int Free(IEnumerable<Download> those) => those.Where(d => d.Why == MayDownloadWhy.Free || d.PersonId is null).Select(Who).Distinct().Count();

    private static int ForMembers(IEnumerable<Download> those) => those.Where(d => d.Why != MayDownloadWhy.Free && d.PersonId is not null).Select(Who).Distinct().Count();

    /// <summary>"2026-10 library 0: 2 signed in, 1 free, 2 for members", for months in which any was.</summary>
    public List<string> Months()
    {
        var lines = new List<string>();
        foreach (var month in Days().Select(d => d.ToYearMonth()).Distinct())
            foreach (var library in downloads.Select(d => d.LibraryId).Append(0).Distinct())
            {
                var those = downloads.Where(d => IsOf(d, library) && StartedOn(d)?.ToYearMonth() == month && d.PersonId is not null && By(d) != FetchedBy.Maker).ToList();
                if (those.Count > 0)
                    lines.Add($"{month:uuuu-MM} library {library}: {those.Select(d => d.PersonId).Distinct().Count()} signed in, {Free(those)} free, {ForMembers(those)} for members");
            }
        lines.Sort(StringComparer.Ordinal);
        return lines;
    }

    /// <summary>Of all; or of one box alone, which a month fetched as one archive is none of.</summary>
    private static bool IsOf(Download d, long library) => library == 0 || (d.LibraryId == library && d.DropId is null);

    private IEnumerable<LocalDate> Days() => downloads.SelectMany(d => new[] { StartedOn(d), FinishedOn(d) }).OfType<LocalDate>().Distinct();

    private T Once<T>(Download download, Func<T> ask, [CallerMemberName] string question = "")
    {
        if (!answered.TryGetValue((download.Id, question), out var answer))
            answered[(download.Id, question)] = answer = ask();
        return (T)answer!;
    }

    private List<DownloadEvent> Of(Download download) => Once(download, () => events.Where(e => e.DownloadId == download.Id).OrderBy(e => e.Id).ToList());

    private LocalDate? StartedOn(Download d) => Once<LocalDate?>(d, () => Started(d) is { } at ? Day(at) : null);

    private LocalDate? FinishedOn(Download d) => Once<LocalDate?>(d, () => Finished(d) is { } at ? Day(at) : null);

    private LocalDate Day(DateTimeOffset at) => Instant.FromDateTimeOffset(at).InZone(zone).Date;

    /// <summary>The first request, when ever more than two bytes were handed over in one go or a resume proved some.</summary>
    private DateTimeOffset? Started(Download d) => Once(d, () => Of(d).Exists(e => e.IsEvidence || e.To - e.From > 2) || Finished(d) is not null ? d.StartedAt : null);

    private DateTimeOffset? Finished(Download d) => Once(d, () => Completing(d)?.At);

    /// <summary>The event with which every byte was handed over at least once.</summary>
    private DownloadEvent? Completing(Download d)
    {
        var has = new bool[lengthOf(d.ArchiveId)];
        foreach (var e in Of(d))
        {
            for (var i = e.From; i < e.To; i++)
                has[i] = true;
            if (Array.TrueForAll(has, h => h))
                return e;
        }
        return null;
    }

    /// <summary>"; 3 left, 1 asked again, 12 of 72 bytes" of those that are not finished by now.</summary>
    private string Left(List<Download> left) => $"; {left.Count} left, {left.Count(d => Requests(d) > 1 || Resumes(d) > 0)} asked again, {left.Sum(Covered)} of {left.Sum(d => lengthOf(d.ArchiveId))} bytes";

    private int Covered(Download d) => Once(d, () => Of(d).SelectMany(e => Enumerable.Range((int)e.From, (int)(e.To - e.From))).Distinct().Count());

    /// <summary>Answers with bytes; one of two is asked for by a probe.</summary>
    private int Requests(Download d) => Of(d).Count(e => e.BeginsAnswer && e.To - e.From > 2);

    private int Resumes(Download d) => Of(d).Count(e => e.IsEvidence);

    private long Bytes(Download d) => Of(d).Where(e => !e.IsEvidence).Sum(e => e.To - e.From);

    private bool IsDoubleClick(Download d) => Once(d, () => Started(d) is { } at && downloads.Any(o => o.Id != d.Id && o.ArchiveId == d.ArchiveId && IsSame(o, d)
        && Started(o) is { } then && then - at <= TimeSpan.FromSeconds(30) && (then > at || (then == at && string.CompareOrdinal(o.Id, d.Id) > 0))));

    private static bool IsSame(Download a, Download b) =>
        a.PersonId is not null || b.PersonId is not null ? a.PersonId == b.PersonId : a.Visitor is not null && a.Visitor == b.Visitor;

    private static FetchedKind Kind(Download d) => d.DropId is not null ? FetchedKind.Month : d.FromReleaseId is not null ? FetchedKind.Update : FetchedKind.Whole;

    private FetchedBy By(Download d) => Once(d, () => Whose(d));

    private FetchedBy Whose(Download d)
    {
        if (d.Why == MayDownloadWhy.Maker)
            return FetchedBy.Maker;
        if (d.PersonId is null && (d.IsRobot || (d.Visitor is not null && downloads.Count(o => o.PersonId is null && o.Visitor == d.Visitor && StartedOn(o) == StartedOn(d)) > 40)))
            return FetchedBy.Robots;
        return d.Why == MayDownloadWhy.Free ? FetchedBy.Free : FetchedBy.Members;
    }
}

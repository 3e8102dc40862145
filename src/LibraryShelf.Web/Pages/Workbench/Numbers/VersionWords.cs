using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Who is on which version, in sentences, as a table and as a plain file. Only what is known: what people finished downloading, signed in.</summary>
internal static class VersionWords
{
    /// <summary>Rows of the table; of more days, a day a week or a month is in it, counted back from the last.</summary>
    private const int MostRows = 62;

    public static string Day(LocalDate day) => Dates.Day(day);

    /// <summary>"66 %", with a space that does not break; what is not none is not said to be none, and what is not all not all.</summary>
    public static string Percent(int people, int of)
    {
        return of == 0 ? "–" : Percent(100.0 * people / of);
    }

    /// <summary>The same of so many in a hundred.</summary>
    public static string Percent(double percent) => percent switch
    {
        0 => T("none"),
        < 1 => T("under 1\u00a0%"),
        > 99 and < 100 => T("over 99\u00a0%"),
        _ => Math.Round(percent, MidpointRounding.AwayFromZero).ToString("0", Say.Culture) + "\u00a0%",
    };

    /// <summary>"53 (65 %)"; nobody is 0.</summary>
    public static string Of(int people, int of) => people == 0 ? "0" : $"{people} ({Percent(people, of)})";

    /// <summary>What the figures say, said.</summary>
    public static string Said(VersionShares shares)
    {
        if (shares.Box is not { } box)
            return T("No version is on the shelf yet.");
        if (shares.People == 0)
            return T($"Nobody had finished a download of {box.Title} while signed in.");
        var most = shares.Versions.MaxBy(shares.Has)!;
        var people = Plural.Of(shares.People, "person");
        if (shares.Latest is not { } latest)
            return shares.Has(most) == 1
                ? T($"Of {people} with {box.Title}, {Plural.InWords(1, "person")} has {most.Number}. No version of it is on the shelf now.")
                : T($"Of {people} with {box.Title}, {Plural.InWords(shares.Has(most), "person")} have {most.Number}. No version of it is on the shelf now.");
        var has = shares.Has(latest);
        var said = has == 0 ? T($"Of {people} with {box.Title}, nobody has {latest.Number}, the latest.")
            : has == shares.People ? T($"Of {people} with {box.Title}, all have {latest.Number}, the latest.")
            : has == 1 ? T($"Of {people} with {box.Title}, one has {latest.Number}, the latest: {Percent(has, shares.People)}.")
            : T($"Of {people} with {box.Title}, {has} have {latest.Number}, the latest: {Percent(has, shares.People)}.");
        var other = shares.Versions.Where(v => v != latest).MaxBy(shares.Has);
        return other is null || shares.Has(other) == 0 || has == shares.People ? said : $"{said} {T($"Of the others most have {other.Number}.")}";
    }

    /// <summary>Whole days: "the same day", "1 day", "12 days", "not yet".</summary>
    public static string Days(int? days) => days switch { null => T("not yet"), 0 => T("the same day"), { } d => Plural.Of(d, "day") };

    /// <summary>The days of the table, newest first.</summary>
    public static IReadOnlyList<ShareDay> Rows(VersionShares shares)
    {
        var step = Step(shares);
        return [.. shares.Days.Where((_, i) => (shares.Days.Count - 1 - i) % step == 0).Reverse()];
    }

    /// <summary>Which days stand in the table; null: each.</summary>
    public static string? RowsRule(VersionShares shares) => Step(shares) switch
    {
        1 => null,
        7 => T("The last day, and each seventh before it; the file has every day."),
        _ => T("The last day, and each thirtieth before it; the file has every day."),
    };

    private static int Step(VersionShares shares) => shares.Days.Count <= MostRows ? 1 : shares.Days.Count <= MostRows * 7 ? 7 : 30;

    /// <summary>How many had on a day what is the latest version today; null: nobody had any.</summary>
    public static int? HadLatest(VersionShares shares, ShareDay day) => day.Total == 0 ? null : shares.Latest is { } latest ? day.People[shares.IndexOf(latest)] : 0;

    /// <summary>The line of it, in a hundred.</summary>
    public static LineSeries LatestLine(VersionShares shares) =>
        new(T($"on {shares.Latest?.Number}"), [.. shares.Days.Select(d => HadLatest(shares, d) is { } had ? 100.0 * had / d.Total : (double?)null)]);

    /// <summary>"At the end of 30 June 2026 12 of 40 people had 2.1.0, 30 %: now 26 in a hundred more."</summary>
    public static string Compared(VersionShares shares, VersionShares other)
    {
        var day = other.Range.Days < shares.Range.Days ? T($"{Day(other.Range.Last)} (those days are not over)") : Day(other.Range.Last);
        if (other.People == 0)
            return T($"At the end of {day} nobody had any of it.");
        var people = Plural.Of(other.People, "person");
        if (shares.Latest is not { } latest)
            return T($"At the end of {day} {people} had any of it: {Beside.Change(shares.People, other.People)} in these days.");
        var (had, has) = (Had(other, latest.Id), shares.Has(latest));
        if (had == 0)
            return T($"At the end of {day} none of {people} had {latest.Number}.");
        var change = Beside.ChangeInAHundred(Core.Statistics.Members.Share.InAHundred(has, shares.People), Core.Statistics.Members.Share.InAHundred(had, other.People));
        return T($"At the end of {day} {had} of {people} had {latest.Number}, {Percent(had, other.People)}: in these days {change}.");
    }

    /// <summary>At the last day of each: people, and by version.</summary>
    public static IReadOnlyList<BesideRow> BesideRows(VersionShares shares, VersionShares other) =>
    [
        BesideRow.Of(T("People with any version"), shares.People, other.People),
        .. shares.Versions.Concat(other.Versions).DistinctBy(v => v.Id).Select(v => (v, now: Had(shares, v.Id), then: Had(other, v.Id))).Where(v => v.now + v.then > 0).Reverse()
            .Select(v => new BesideRow(T($"with {v.v.Number}"), $"{v.now} ({Percent(v.now, shares.People)})", $"{v.then} ({Percent(v.then, other.People)})", Beside.Change(v.now, v.then))),
    ];

    private static int Had(VersionShares shares, long id) => shares.Versions.FirstOrDefault(v => v.Id == id) is { } version ? shares.Has(version) : 0;

    /// <summary>One line a day and box on which anybody had any version of it.</summary>
    public static FileContentResult LatestCsv(IEnumerable<VersionShares> boxes) => NumbersCsv.File("share-on-latest", "day,box,title,latest,people,of",
        boxes.Where(b => b.Box is not null && b.Latest is not null).SelectMany(b => b.Days.Where(d => d.Total > 0).Select(d => string.Create(CultureInfo.InvariantCulture,
            $"{LocalDatePattern.Iso.Format(d.Day)},{b.Box!.Slug},{Words.Csv.Text(b.Box.Title)},{b.Latest!.Number},{HadLatest(b, d)},{d.Total}"))));

    /// <summary>One line a version; what is not reached yet is empty.</summary>
    public static FileContentResult UptakesCsv(VersionShares shares) => NumbersCsv.File("how-long-until-most-had-it", "box,title,version,out_on,had_the_box,have_it_by_now,days_to_half,days_to_nine_in_ten",
        shares.Uptakes.Select(u => string.Create(CultureInfo.InvariantCulture,
            $"{shares.Box!.Slug},{Words.Csv.Text(shares.Box.Title)},{u.Version.Number},{LocalDatePattern.Iso.Format(u.Version.OutOn!.Value)},{u.Had},{u.Have},{u.DaysToHalf},{u.DaysToMost}")));

    /// <summary>One line a day and version that anybody had on it, RFC 4180: CRLF, quotes where needed.</summary>
    public static string Csv(VersionShares shares)
    {
        var text = new StringBuilder("day,box,title,version,people,of\r\n");
        foreach (var day in shares.Days)
            foreach (var (version, i) in shares.Versions.Select((v, i) => (v, i)).Where(v => day.People[v.i] > 0))
                text.Append(CultureInfo.InvariantCulture,
                    $"{LocalDatePattern.Iso.Format(day.Day)},{shares.Box!.Slug},{Pages.Words.Csv.Text(shares.Box.Title)},{version.Number},{day.People[i]},{day.Total}\r\n");
        return text.ToString();
    }
}

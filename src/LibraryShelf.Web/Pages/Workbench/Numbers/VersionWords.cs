using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Who is on which version, in sentences, as a table and as a plain file. Only what is known: what people finished downloading, signed in.</summary>
internal static class VersionWords
{
    private static readonly LocalDatePattern LongDay = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");

    /// <summary>Rows of the table; of more days, a day a week or a month is in it, counted back from the last.</summary>
    private const int MostRows = 62;

    public static string Day(LocalDate day) => LongDay.Format(day);

    /// <summary>"66 %", with a space that does not break; what is not none is not said to be none, and what is not all not all.</summary>
    public static string Percent(int people, int of)
    {
        if (of == 0) return "–";
        var percent = 100.0 * people / of;
        return percent switch
        {
            0 => "none",
            < 1 => "under 1\u00a0%",
            > 99 and < 100 => "over 99\u00a0%",
            _ => Math.Round(percent, MidpointRounding.AwayFromZero).ToString("0", CultureInfo.InvariantCulture) + "\u00a0%",
        };
    }

    /// <summary>What the figures say, said.</summary>
    public static string Said(VersionShares shares)
    {
        if (shares.Box is not { } box)
            return "No version is on the shelf yet.";
        if (shares.People == 0)
            return $"Nobody had finished a download of {box.Title} while signed in.";
        var most = shares.Versions.MaxBy(shares.Has)!;
        var of = $"Of {Plural.Of(shares.People, "person")} with {box.Title}";
        if (shares.Latest is not { } latest)
            return $"{of}, {Plural.InWords(shares.Has(most), "person")} {(shares.Has(most) == 1 ? "has" : "have")} {most.Number}. No version of it is on the shelf now.";
        var has = shares.Has(latest);
        var said = $"{of}, {(has == 0 ? "nobody has" : has == shares.People ? "all have" : has == 1 ? "one has" : $"{has} have")} {latest.Number}, the latest{(has == 0 || has == shares.People ? "" : $": {Percent(has, shares.People)}")}.";
        var other = shares.Versions.Where(v => v != latest).MaxBy(shares.Has);
        return other is null || shares.Has(other) == 0 || has == shares.People ? said : $"{said} Of the others most have {other.Number}.";
    }

    /// <summary>Whole days: "the same day", "1 day", "12 days", "not yet".</summary>
    public static string Days(int? days) => days switch { null => "not yet", 0 => "the same day", { } d => Plural.Of(d, "day") };

    /// <summary>The days of the table, newest first.</summary>
    public static IReadOnlyList<ShareDay> Rows(VersionShares shares)
    {
        var step = shares.Days.Count <= MostRows ? 1 : shares.Days.Count <= MostRows * 7 ? 7 : 30;
        return [.. shares.Days.Where((_, i) => (shares.Days.Count - 1 - i) % step == 0).Reverse()];
    }

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

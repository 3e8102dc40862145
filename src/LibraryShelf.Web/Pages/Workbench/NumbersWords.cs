using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The Numbers page in sentences, and as a plain file.</summary>
internal static class NumbersWords
{
    private static readonly LocalDatePattern LongDay = LocalDatePattern.CreateWithInvariantCulture("d MMMM uuuu");

    /// <summary>What the figures say, said; only what is known.</summary>
    public static string Said(Numbers numbers)
    {
        var of = numbers.Chosen is { } box ? $" of {box.Title}" : "";
        var days = NodaTime.Period.DaysBetween(numbers.First, numbers.Last) + 1;
        var text = new StringBuilder().Append(CultureInfo.InvariantCulture,
            $"{Plural.Opening(numbers.Finished, "download")}{of} finished in the last {Plural.Of(days, "day")}, {numbers.Started} started.");
        var versions = numbers.ByBox().SelectMany(b => b.Versions.Select(v => (b.Title, v.Number, v.Finished))).ToList();
        if (versions.Count > 1 && versions.MaxBy(v => v.Finished) is { Finished: > 1 } most)
            text.Append(CultureInfo.InvariantCulture, $" Most finished: {most.Title} {most.Number}, {most.Finished} times.");
        return text.ToString();
    }

    public static string Day(NodaTime.LocalDate day) => LongDay.Format(day);

    /// <summary>One line a day and version, RFC 4180: CRLF, quotes where needed.</summary>
    public static string Csv(Numbers numbers)
    {
        var text = new StringBuilder("day,box,title,version,started,finished\r\n");
        foreach (var line in numbers.Lines)
        {
            text.Append(CultureInfo.InvariantCulture,
                $"{LocalDatePattern.Iso.Format(line.Day)},{line.Slug},{Pages.Words.Csv.Text(line.Title)},{line.Number},{line.Started},{line.Finished}\r\n");
        }
        return text.ToString();
    }
}

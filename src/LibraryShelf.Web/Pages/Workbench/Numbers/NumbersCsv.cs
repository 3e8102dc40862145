using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The figures of downloads as files, RFC 4180: CRLF, quotes where needed. Columns are added at the end, never renamed.</summary>
internal static class NumbersCsv
{
    /// <summary>One line a day and version.</summary>
    public static ActionResult Lines(IAsyncEnumerable<NumbersLine> lines) => new CsvLines(
        "downloads-by-version.csv", "day,box,title,version,started,finished,started_free,finished_free,started_members,finished_members",
        lines.Select(l => string.Create(CultureInfo.InvariantCulture,
            $"{Iso(l.Day)},{l.Slug},{Csv.Text(l.Title)},{l.Number},{l.Started},{l.Finished},{l.StartedFree},{l.FinishedFree},{l.StartedMembers},{l.FinishedMembers}")));

    /// <summary>One line a figure, as it stands in the table of sums; beside it is empty without a second range.</summary>
    public static ActionResult Sums(DownloadNumbers numbers, DownloadNumbers? other) => File("downloads-in-sums",
        "figure,from,to,value,beside_from,beside_to,beside", NumbersWords.Sums(numbers, other).Select(s =>
            $"{s.Key},{Iso(numbers.Range.First)},{Iso(numbers.Range.Last)},{s.Raw},{(other is null ? "," : $"{Iso(other.Range.First)},{Iso(other.Range.Last)}")},{s.RawBeside}"));

    /// <summary>One line a day.</summary>
    public static ActionResult People(DownloadNumbers numbers) => File("people-by-day", "day,people,signed_in,free,members",
        numbers.People.Select(p => string.Create(CultureInfo.InvariantCulture, $"{Iso(p.Day)},{p.People},{p.SignedIn},{p.Free},{p.Members}")));

    /// <summary>One line a month in which anybody was.</summary>
    public static ActionResult Months(DownloadNumbers numbers) => File("people-by-month", "month,signed_in,free,members",
        numbers.Months.Select(m => string.Create(CultureInfo.InvariantCulture, $"{MemberNumbersWords.Iso(m.Month)},{m.SignedIn},{m.Free},{m.Members}")));

    public static ActionResult Answers(IEnumerable<SeenTimes> answers) => File("answers", "answer,times",
        answers.Select(a => string.Create(CultureInfo.InvariantCulture, $"{a.Word},{a.Times}")));

    /// <param name="name">Of the file, without its ending.</param>
    /// <param name="head">The first line.</param>
    /// <param name="lines">The others.</param>
    public static FileContentResult File(string name, string head, IEnumerable<string> lines) =>
        new(Encoding.UTF8.GetBytes(head + "\r\n" + string.Concat(lines.Select(l => l + "\r\n"))), "text/csv; charset=utf-8") { FileDownloadName = name + ".csv" };

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}

using System.Globalization;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Which boxes are wanted, updated, begun and never finished; where people came from, and what they looked for in vain.</summary>
public sealed class LibrariesModel(ReadLibraryNumbers read, ReadDaysBeside readBeside, ReadLibrariesBeside readOther, ReadWordsKept readKept) : PageModel
{
    /// <summary>Rows of a list on the page; a file has all.</summary>
    internal const int MostRows = 200;

    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The first of as many other days; empty: nothing is compared.</summary>
    [BindProperty(SupportsGet = true)] public string? Against { get; set; }

    public DaysBeside? Asked { get; private set; }

    public LibrariesBeside? Both { get; private set; }

    public LibraryNumbers Numbers { get; private set; } = null!;

    /// <summary>Of the shop's calendar.</summary>
    public LocalDate Today { get; private set; }

    /// <summary>Of days before this one hosts and searches were let go; null: of the days shown they were not.</summary>
    public LocalDate? WordsKeptFrom { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Numbers = await read.RunAsync(day => Range(Today = day), MostRows, cancellationToken);
        WordsKeptFrom = await readKept.RunAsync(cancellationToken) is { } kept && Numbers.Range.First < kept ? kept : null;
        Asked = await readBeside.RunAsync(Against, Numbers.Range, Today, cancellationToken);
        if (Asked is { IsKnown: true } asked)
            Both = await readOther.RunAsync(Numbers, asked.Range, cancellationToken);
    }

    public async Task<ActionResult> OnGetCsvAsync(CancellationToken cancellationToken) => NumbersCsv.File("libraries",
        "box,title,whole_bytes,finished_whole,finished_updates,begun,not_finished,resumes,not_finished_known,not_finished_asked_again,not_finished_bytes_covered,not_finished_bytes_in_all,"
        + "whole_not_finished,whole_not_finished_known,whole_not_finished_asked_again,finished_whole_free,finished_whole_members,finished_updates_free,finished_updates_members,begun_free,begun_members,not_finished_free,not_finished_members",
        (await read.RunAsync(Range, most: 0, cancellationToken)).Boxes.Select(b => string.Create(CultureInfo.InvariantCulture,
            $"{b.Slug},{Csv.Text(b.Title)},{b.Size},{b.Wanted},{b.Updated},{b.Begun},{b.NotFinished},{b.Resumes},{b.Left.Known},{b.Left.Again},{b.Left.Covered},{b.Left.Length},{b.Whole.NotFinished},{b.Whole.Left.Known},{b.Whole.Left.Again},"
            + $"{b.Free.Wanted},{b.Wanted - b.Free.Wanted},{b.Free.Updated},{b.Updated - b.Free.Updated},{b.Free.Begun},{b.Begun - b.Free.Begun},{b.Free.NotFinished},{b.NotFinished - b.Free.NotFinished}")));

    public async Task<ActionResult> OnGetReferrersCsvAsync(CancellationToken cancellationToken) => NumbersCsv.File("came-from", "host,title,times",
        (await read.RunAsync(Range, int.MaxValue, cancellationToken)).Referrers.Select(r => string.Create(CultureInfo.InvariantCulture, $"{Csv.Text(r.Host)},{Csv.Text(r.Title)},{r.Times}")));

    public async Task<ActionResult> OnGetSearchesCsvAsync(CancellationToken cancellationToken) => NumbersCsv.File("searches", "looked_for,times",
        (await read.RunAsync(Range, int.MaxValue, cancellationToken)).Searches.Select(s => string.Create(CultureInfo.InvariantCulture, $"{Csv.Text(s.Word)},{s.Times}")));

    private DayRange Range(LocalDate today) => DayRange.Read(From, To, today, DownloadsModel.Usual);
}

using System.Text;
using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Downloads by box, version and day of any range, and of a second range beside it.</summary>
public sealed class DownloadsModel(ReadNumbers read) : PageModel
{
    /// <summary>Days shown when none are asked for.</summary>
    internal const int Usual = 60;

    /// <summary>A box's slug; empty: all of them.</summary>
    [BindProperty(SupportsGet = true)] public string? Library { get; set; }

    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The first of as many other days; empty: nothing is compared.</summary>
    [BindProperty(SupportsGet = true)] public string? Against { get; set; }

    public DownloadNumbers Numbers { get; private set; } = null!;

    public DownloadNumbers? Other { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        LocalDate today = default;
        Numbers = await read.RunAsync(Library, day => Range(today = day), cancellationToken);
        if (Range(today).ReadAgainst(Against, today) is { } other)
            Other = await read.RunAsync(Library, _ => other, cancellationToken);
    }

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken) =>
        File(Encoding.UTF8.GetBytes(NumbersWords.Csv(await read.LinesAsync(Library, Range, cancellationToken))), "text/csv; charset=utf-8", "downloads-by-version.csv");

    private DayRange Range(LocalDate today) => DayRange.Read(From, To, today, Usual);
}

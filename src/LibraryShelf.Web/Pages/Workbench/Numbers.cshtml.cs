using System.Text;
using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Downloads by box, version and day, started and finished.</summary>
public sealed class NumbersModel(ReadNumbers read) : PageModel
{
    public static readonly IReadOnlyList<int> Periods = [30, 60, 365];

    /// <summary>A box's slug; empty: all of them.</summary>
    [BindProperty(SupportsGet = true)] public string? Library { get; set; }

    [BindProperty(SupportsGet = true)] public int Days { get; set; } = 60;

    public Numbers Numbers { get; private set; } = null!;

    public async Task OnGetAsync(CancellationToken cancellationToken) =>
        Numbers = await read.RunAsync(Library, Days, cancellationToken);

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken)
    {
        var numbers = await read.RunAsync(Library, Days, cancellationToken);
        return File(Encoding.UTF8.GetBytes(NumbersWords.Csv(numbers)), "text/csv; charset=utf-8", "downloads-by-version.csv");
    }
}

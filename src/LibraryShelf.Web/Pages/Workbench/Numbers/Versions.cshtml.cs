using System.Text;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Who is on which version of a box, how long each took, and who is left behind.</summary>
public sealed class VersionsModel(ReadVersionShares read, ReadLeftBehind readBehind) : PageModel
{
    /// <summary>A box's slug; empty: that whose version came out last.</summary>
    [BindProperty(SupportsGet = true)] public string? Library { get; set; }

    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The number of the version whose people are listed.</summary>
    [BindProperty(SupportsGet = true)] public string? Has { get; set; }

    [BindProperty(SupportsGet = true)] public int Sheet { get; set; } = 1;

    public VersionShares Shares { get; private set; } = null!;

    /// <summary>Null: there is no version on the shelf.</summary>
    public LeftBehind? Behind { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Shares = await read.RunAsync(Library, Range, cancellationToken);
        if (Shares.Box is { } box)
            Behind = await readBehind.RunAsync(box.Slug, Has, Sheet, cancellationToken);
    }

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken) =>
        File(Encoding.UTF8.GetBytes(VersionWords.Csv(await read.RunAsync(Library, Range, cancellationToken))), "text/csv; charset=utf-8", "people-by-version.csv");

    private DayRange Range(LocalDate today) => DayRange.Read(From, To, today, ReadVersionShares.UsualDays);
}

using System.Text;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Who is on which version of a box, how long each took, and who is left behind.</summary>
public sealed class VersionsModel(ReadVersionShares read, ReadDaysBeside readBeside, ReadLeftBehind readBehind) : PageModel
{
    /// <summary>Versions, those that came out last, of which it is said how long they took.</summary>
    internal const int UsualUptakes = 4;

    /// <summary>A box's slug; empty: that whose version came out last.</summary>
    [BindProperty(SupportsGet = true)] public string? Library { get; set; }

    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The first of as many other days; empty: nothing is compared.</summary>
    [BindProperty(SupportsGet = true)] public string? Against { get; set; }

    /// <summary>Of the shop's calendar.</summary>
    public LocalDate Today { get; private set; }

    public DaysBeside? Asked { get; private set; }

    public VersionShares? Other { get; private set; }

    /// <summary>The number of the version whose people are listed.</summary>
    [BindProperty(SupportsGet = true)] public string? Has { get; set; }

    /// <summary>Whether it is said of all versions how long they took.</summary>
    [BindProperty(SupportsGet = true)] public bool All { get; set; }

    [BindProperty(SupportsGet = true)] public int Sheet { get; set; } = 1;

    public VersionShares Shares { get; private set; } = null!;

    /// <summary>Null: there is no version on the shelf.</summary>
    public LeftBehind? Behind { get; private set; }

    /// <summary>More versions came out than it is said of.</summary>
    public bool HasMore => !All && Shares.Uptakes.Count >= UsualUptakes;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Shares = await read.RunAsync(Library, day => Range(Today = day), All ? int.MaxValue : UsualUptakes, cancellationToken);
        if (Shares.Box is not { } box)
            return;
        Asked = await readBeside.RunAsync(Against, Shares.Range, Today, cancellationToken);
        if (Asked is { IsKnown: true } asked)
            Other = await read.RunAsync(box.Slug, _ => asked.Range, uptakes: 0, cancellationToken);
        Behind = await readBehind.RunAsync(box.Slug, Has, Sheet, cancellationToken);
    }

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken) =>
        File(Encoding.UTF8.GetBytes(VersionWords.Csv(await read.RunAsync(Library, Range, uptakes: 0, cancellationToken))), "text/csv; charset=utf-8", "people-by-version.csv");

    public async Task<FileContentResult> OnGetLatestCsvAsync(CancellationToken cancellationToken) =>
        VersionWords.LatestCsv([await read.RunAsync(Library, Range, uptakes: 0, cancellationToken)]);

    public async Task<FileContentResult> OnGetUptakesCsvAsync(CancellationToken cancellationToken) =>
        VersionWords.UptakesCsv(await read.RunAsync(Library, Range, uptakes: int.MaxValue, cancellationToken));

    private DayRange Range(LocalDate today) => DayRange.Read(From, To, today, ReadVersionShares.UsualDays);
}

using System.Text;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>How each month's drop was taken, against the months before.</summary>
public sealed class DropsModel(ReadDropUptakes read) : PageModel
{
    /// <summary>The first month, "2026-03"; else of the first drop.</summary>
    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The first of as many other months; empty: nothing is compared.</summary>
    [BindProperty(SupportsGet = true)] public string? Against { get; set; }

    internal MonthsBeside? Asked { get; private set; }

    public DropNumbers? Other { get; private set; }

    public DropNumbers Numbers { get; private set; } = null!;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Numbers = await ReadAsync(cancellationToken);
        Asked = Beside.ReadMonths(Against, Numbers.First, Numbers.Last, Numbers.Earliest, Numbers.Latest);
        if (Asked is { Trouble: null } asked)
            Other = await read.RunAsync(asked.From, asked.To, cancellationToken);
    }

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken) =>
        File(Encoding.UTF8.GetBytes(MemberNumbersCsv.Drops(await ReadAsync(cancellationToken))), "text/csv; charset=utf-8", "uptake-by-drop.csv");

    private Task<DropNumbers> ReadAsync(CancellationToken cancellationToken) =>
        read.RunAsync(MemberNumbersWords.Read(From), MemberNumbersWords.Read(To), cancellationToken);
}

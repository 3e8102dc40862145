using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The figures at a glance: sentences, then a small picture of each thing, which its own page has in full.</summary>
public sealed class IndexModel(ReadNumbers read, ReadNewestShares shares, ReadCameOut readCame) : PageModel
{
    /// <summary>Boxes whose share on the latest is drawn.</summary>
    internal const int Boxes = 6;

    public DownloadNumbers Numbers { get; private set; } = null!;

    /// <summary>What came out in the days of the downloads.</summary>
    public IReadOnlyList<CameOut> Came { get; private set; } = [];

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Numbers = await read.RunAsync(null, today => DayRange.Read(null, null, today, DownloadsModel.Usual), cancellationToken);
        Came = await readCame.RunAsync(null, Numbers.Range with { First = Numbers.Range.First.PlusDays(-1) }, cancellationToken);
    }

    public async Task<FileContentResult> OnGetSharesCsvAsync(CancellationToken cancellationToken) => VersionWords.LatestCsv(await shares.RunAsync(Boxes, cancellationToken));
}

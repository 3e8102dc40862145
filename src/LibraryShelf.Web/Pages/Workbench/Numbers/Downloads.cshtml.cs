using LibraryShelf.Core.Statistics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Downloads by box, version and day of any range, and of a second range beside it.</summary>
public sealed class DownloadsModel(ReadNumbers read, ReadDaysBeside readBeside, ReadNumbersLines lines, ReadSeen seen, ReadCameOut readCame, SetGigabytePrice setPrice) : PageModel
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

    /// <summary>Of the shop's calendar.</summary>
    public LocalDate Today { get; private set; }

    public DaysBeside? Asked { get; private set; }

    public DownloadNumbers? Other { get; private set; }

    /// <summary>What came out in these days and on the day before them: peaks are named by it.</summary>
    public IReadOnlyList<CameOut> Came { get; private set; } = [];

    /// <summary>The same of <see cref="Other"/>.</summary>
    public IReadOnlyList<CameOut> OtherCame { get; private set; } = [];

    /// <summary>Requests with a download link by what they were answered.</summary>
    public IReadOnlyList<SeenTimes> Answers { get; private set; } = [];

    /// <summary>The same of <see cref="Other"/>.</summary>
    public IReadOnlyList<SeenTimes> OtherAnswers { get; private set; } = [];

    /// <summary>What was typed as the price of a gigabyte, and is none; null: nothing was, or it is kept.</summary>
    public string? WrongPrice { get; private set; }

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        await ReadAsync(cancellationToken);
        Came = await CameAsync(Numbers.Range, cancellationToken);
        Answers = await AnswersAsync(Numbers.Range, cancellationToken);
        if (Other is null)
            return;
        OtherCame = await CameAsync(Other.Range, cancellationToken);
        OtherAnswers = await AnswersAsync(Other.Range, cancellationToken);
    }

    private Task<IReadOnlyList<CameOut>> CameAsync(DayRange range, CancellationToken cancellationToken) =>
        readCame.RunAsync(Library, range with { First = range.First.PlusDays(-1) }, cancellationToken);

    private async Task ReadAsync(CancellationToken cancellationToken)
    {
        Numbers = await read.RunAsync(Library, day => Range(Today = day), cancellationToken);
        Asked = await readBeside.RunAsync(Against, Numbers.Range, Today, cancellationToken);
        if (Asked is { IsKnown: true } asked)
            Other = await read.RunAsync(Library, _ => asked.Range, cancellationToken);
    }

    private Task<IReadOnlyList<SeenTimes>> AnswersAsync(DayRange range, CancellationToken cancellationToken) => seen.RunAsync(SightingKind.Answer, range, int.MaxValue, cancellationToken);

    public async Task<IActionResult> OnPostPriceAsync(string? price, CancellationToken cancellationToken)
    {
        if (await setPrice.RunAsync(price, cancellationToken))
            return RedirectToPage(new { library = Library, from = From, to = To, against = Against });
        WrongPrice = price;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        await OnGetAsync(cancellationToken);
        return Page();
    }

    public ActionResult OnGetCsv(CancellationToken cancellationToken) => NumbersCsv.Lines(lines.RunAsync(Library, Range, cancellationToken));

    public async Task<ActionResult> OnGetSumsCsvAsync(CancellationToken cancellationToken)
    {
        await ReadAsync(cancellationToken);
        return NumbersCsv.Sums(Numbers, Other);
    }

    public async Task<ActionResult> OnGetPeopleCsvAsync(CancellationToken cancellationToken) => NumbersCsv.People(await read.RunAsync(Library, Range, cancellationToken));

    public async Task<ActionResult> OnGetMonthsCsvAsync(CancellationToken cancellationToken) => NumbersCsv.Months(await read.RunAsync(Library, Range, cancellationToken));

    public async Task<ActionResult> OnGetAnswersCsvAsync(CancellationToken cancellationToken)
    {
        await ReadAsync(cancellationToken);
        return NumbersCsv.Answers(await AnswersAsync(Numbers.Range, cancellationToken));
    }

    private DayRange Range(LocalDate today) => DayRange.Read(From, To, today, Usual);
}

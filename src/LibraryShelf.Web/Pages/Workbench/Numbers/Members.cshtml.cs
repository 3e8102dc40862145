using System.Text;
using LibraryShelf.Core.Statistics.Members;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>Who joined, stayed and left, month by month.</summary>
public sealed class MembersModel(ReadMemberNumbers read) : PageModel
{
    /// <summary>The first month, "2026-03"; else a year.</summary>
    [BindProperty(SupportsGet = true)] public string? From { get; set; }

    [BindProperty(SupportsGet = true)] public string? To { get; set; }

    /// <summary>The first of as many other months; empty: nothing is compared.</summary>
    [BindProperty(SupportsGet = true)] public string? Against { get; set; }

    internal MonthsBeside? Asked { get; private set; }

    public MemberNumbers? Other { get; private set; }

    /// <summary>Of a file: which of the tables; else the months.</summary>
    [BindProperty(SupportsGet = true)] public string? What { get; set; }

    public MemberNumbers Numbers { get; private set; } = null!;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Numbers = await ReadAsync(cancellationToken);
        Asked = Beside.ReadMonths(Against, Numbers.First, Numbers.Last, Numbers.Earliest, Numbers.Present);
        if (Asked is { Trouble: null } asked)
            Other = await read.RunAsync(asked.From, asked.To, cancellationToken);
    }

    public async Task<FileContentResult> OnGetCsvAsync(CancellationToken cancellationToken)
    {
        var numbers = await ReadAsync(cancellationToken);
        var (text, name) = What switch
        {
            "stays" => (MemberNumbersCsv.Stays(numbers), "how-many-stay"),
            "free" => (MemberNumbersCsv.Free(numbers), "joining-after-free-downloads"),
            "leaving" => (MemberNumbersCsv.LeftAfter(numbers), "months-until-leaving"),
            _ => (MemberNumbersCsv.Months(numbers), "members-by-month"),
        };
        return File(Encoding.UTF8.GetBytes(text), "text/csv; charset=utf-8", $"{name}.csv");
    }

    private Task<MemberNumbers> ReadAsync(CancellationToken cancellationToken) =>
        read.RunAsync(MemberNumbersWords.Read(From), MemberNumbersWords.Read(To), cancellationToken);
}

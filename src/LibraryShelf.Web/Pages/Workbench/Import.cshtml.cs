using System.Text;
using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>A list of people from elsewhere, in two presses: the first says what would come of it, the second brings exactly that list.</summary>
[RequestSizeLimit(MostForm), RequestFormLimits(MultipartBodyLengthLimit = MostForm, ValueLengthLimit = MostForm)]
internal sealed class ImportModel(ReadImports readImports, PublicAddress address, JobChain jobs) : PageModel
{
    /// <summary>More than a list may weigh, so that one too big is told so by this page.</summary>
    private const int MostForm = 4 * ReadImport.MostBytes;

    /// <summary>Of a long list the page shows so many lines, those that will not be taken first.</summary>
    public const int MostShown = 500;

    [BindProperty] public IFormFile? List { get; set; }

    [BindProperty] public string? Pasted { get; set; }

    [BindProperty] public string? Source { get; set; }

    [BindProperty] public string? Consent { get; set; }

    [BindProperty] public bool TheyAgreed { get; set; }

    /// <summary>The list between the presses.</summary>
    [BindProperty] public string? Kept { get; set; }

    [BindProperty] public string? Shown { get; set; }

    public IReadOnlyList<ImportSummary> Imports { get; private set; } = [];

    public ImportReading.Tried? Tried { get; private set; }

    public List<(string Field, string Words)> Problems { get; } = [];

    public async Task OnGetAsync(CancellationToken cancellationToken) => Imports = await readImports.RunAsync(cancellationToken);

    public async Task<IActionResult> OnPostAsync([FromServices] ReadImport read, [FromServices] Shared.ShopView shops, CancellationToken cancellationToken)
    {
        Check();
        var file = await FileAsync(cancellationToken);
        if (file.Length == 0)
            Problems.Add(("List", T("Choose a file, or paste the list.")));
        else if (await read.RunAsync(file, cancellationToken) is var reading && reading is ImportReading.Unreadable unreadable)
            Problems.Add((List is null ? "Pasted" : "List", ImportWords.Trouble(unreadable.Trouble, unreadable.Line)));
        else if (reading is ImportReading.BroughtBefore before)
            Problems.Add((List is null ? "Pasted" : "List",
                T($"This very list was brought here on {Dates.DayAndTime(before.FinishedAt, (await shops.GetAsync(cancellationToken)).Zone)}, and is not brought twice. For more people, make a list of those alone.")));
        else if (Problems.Count == 0)
            (Tried, Kept, Shown) = ((ImportReading.Tried)reading, ImportedList.Keep(file), ((ImportReading.Tried)reading).FileHash);
        if (Problems.Count > 0)
            Response.StatusCode = StatusCodes.Status400BadRequest;
        await OnGetAsync(cancellationToken);
        return Page();
    }

    public async Task<IActionResult> OnPostBringAsync([FromServices] ImportMembers bring, CancellationToken cancellationToken)
    {
        var wish = new ImportWish(ImportedList.Read(Kept) ?? [], Shown ?? "", Source, Consent, TheyAgreed);
        var outcome = await bring.RunAsync(wish, address.ForMail(Request), cancellationToken);
        jobs.MailSoon();
        if (outcome is ImportOutcome.Brought brought)
            TempData["Said"] = Said(brought);
        else if (outcome is ImportOutcome.BroughtBefore)
            TempData["Warned"] = T("This very list has been brought whole before, perhaps by a doubled press. Nothing was written a second time.");
        else
            TempData["Warned"] = T("The list that came with the press is not the one this page had shown, or what they agreed to was missing. Nothing was brought. Choose the list again.");
        return Redirect("/workbench/members/import");
    }

    private void Check()
    {
        if (string.IsNullOrWhiteSpace(Source) || Source.Trim().Length > ImportMembers.LongestSource)
            Problems.Add(("Source", T($"Say where the list comes from, in at most {ImportMembers.LongestSource} letters.")));
        if (string.IsNullOrWhiteSpace(Consent) || Consent.Trim().Length > ImportMembers.LongestConsent)
            Problems.Add(("Consent", T($"Say what they agreed to, in at most {ImportMembers.LongestConsent:N0} letters.")));
        if (!TheyAgreed)
            Problems.Add(("TheyAgreed", T("Bring only people who agreed to be written to by this shelf, and tick that they did.")));
    }

    private async Task<byte[]> FileAsync(CancellationToken cancellationToken)
    {
        if (List is not { Length: > 0 })
            return Encoding.UTF8.GetBytes(Pasted ?? "");
        using var bytes = new MemoryStream();
        await List.CopyToAsync(bytes, cancellationToken);
        return bytes.ToArray();
    }

    private static string Said(ImportOutcome.Brought brought)
    {
        var said = T($"{Plural.Opening(brought.New, "person")} new here, {Plural.InWords(brought.Memberships, "membership")} given. Everyone who got something new is sent one mail.");
        if (brought.Nothing > 0)
            said += " " + T($"For {Plural.Of(brought.Nothing, "line")} there was nothing new.");
        var left = Plural.Opening(brought.Left, "line");
        return brought.Left == 0 ? said : said + " " + (brought.Left == 1 ? T($"{left} with a fault was left out.") : T($"{left} with a fault were left out."));
    }
}

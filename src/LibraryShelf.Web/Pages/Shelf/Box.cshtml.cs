using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>A library's page. Its download button makes the link and sends the browser there.</summary>
[EnableRateLimiting(RateLimits.Links)]
public sealed class BoxModel(ReadBox readBox, ReadUpdateOffers readOffers, ReadKeyprint readPrint, ReadRecorded readRecorded, ShopView shops, Looking looking, IPayments payments, IOptions<ShelfSettings> settings) : PageModel
{
    public BoxPage Box { get; private set; } = null!;

    public ShopFront Shop { get; private set; } = ShopFront.Unclaimed;

    /// <summary>Whoever is no member can become one here, without the maker's doing.</summary>
    public bool MayJoin => payments.IsOpen;

    public LinkSettings Links => settings.Value.Links;

    /// <summary>Why the button that was pressed gave nothing; null when none was.</summary>
    public MayDownloadWhy? Refused { get; private set; }

    /// <summary>The picture of the latest version; null when nothing of it can be drawn.</summary>
    public VersionKeyprint? Print { get; private set; }

    /// <summary>The latest version's recordings; null when nothing is known of them.</summary>
    public Recorded? Recorded { get; private set; }

    public UpdateOffers Updates { get; private set; } = UpdateOffers.None;

    public UpdateOffer? UpdateTo(BoxVersion version) => Updates.ByRelease.GetValueOrDefault(version.Release.Id);

    /// <summary>Why there is no update from the version that was chosen; null when none was asked for.</summary>
    public string? NoUpdate { get; private set; }

    public long LargestSize => Box.Versions.Select(v => v.Release.Size).DefaultIfEmpty().Max();

    /// <summary>The player someone has, and its version, as asked for in the address; nothing of it is kept.</summary>
    [BindProperty(SupportsGet = true)] public string? Player { get; set; }

    [BindProperty(SupportsGet = true)] public string? Has { get; set; }

    internal YourPlayer YourPlayer => new(Box.Versions, Player, Has);

    /// <summary>What stands in the story above the version at <paramref name="index"/> and below the one before it, by number: given early, or withdrawn.</summary>
    internal IReadOnlyList<BesideVersion> Beside(int index) => BesideVersion.Between(
        Box, index == 0 ? null : Box.Versions[index - 1].Release.Number, index == Box.Versions.Count ? null : Box.Versions[index].Release.Number);

    /// <summary>The shelf's address for linked data; null when we are not sure of it.</summary>
    public string? HomeIfSure => HttpContext.RequestServices.GetRequiredService<PublicAddress>().ForMail(Request);

    public async Task<IActionResult> OnGetAsync(string slug, CancellationToken cancellationToken)
    {
        if (await readBox.RunAsync(slug, User.PersonId(), cancellationToken) is not { } box)
            return NotFound();
        Box = box;
        Updates = await readOffers.RunAsync([.. box.Versions.Concat(box.Early).Select(v => v.Release.Id)], User.PersonId(), cancellationToken);
        Print = box.Versions.Count > 0 && await readPrint.RunAsync(slug, box.Latest.Release.Number, User.PersonId(), cancellationToken) is { HasPicture: true } print ? print : null;
        Recorded = box.Versions.Count > 0 ? await readRecorded.RunAsync(box.Latest.Release.Id, cancellationToken) : null;
        Shop = await shops.GetAsync(cancellationToken);
        if (HttpMethods.IsGet(Request.Method))
            looking.CameFrom(HttpContext, box.Library.Id);
        return Page();
    }

    public async Task<IActionResult> OnPostAsync(string slug, long release, long? from, [FromServices] MakeLink makeLink, CancellationToken cancellationToken)
    {
        switch (await makeLink.RunAsync(release, User.PersonId(), from, cancellationToken))
        {
            case MakeLinkOutcome.Made made:
                Response.Headers.Location = Request.PathBase + made.Path;
                return StatusCode(StatusCodes.Status303SeeOther);
            case MakeLinkOutcome.Refused { Why: MayDownloadWhy.SignInFirst }:
                return Redirect(SignInAndBack(slug));
            case MakeLinkOutcome.Refused refused:
                Refused = refused.Why;
                Response.StatusCode = StatusCodes.Status403Forbidden;
                return await OnGetAsync(slug, cancellationToken);
            case MakeLinkOutcome.NoUpdate none:
                NoUpdate = none.Why;
                Response.StatusCode = StatusCodes.Status409Conflict;
                return await OnGetAsync(slug, cancellationToken);
            default:
                throw new InvalidOperationException("MakeLink answered with an outcome this page does not know.");
        }
    }

    /// <summary>Where a version changed; the first one added all that it has. Null while that is not known, and for what has no keys.</summary>
    public ChangeStrip? StripOf(int index)
    {
        var (version, row) = (Box.Versions[index], Box.Versions[index].Release.Row);
        var changes = version.Changes ?? (index < Box.Versions.Count - 1 ? null : FirstOf(row));
        return changes is null ? null : ChangeStrip.Of(changes, row.LowestKey, row.HighestKey);
    }

    private static ChangeSummary FirstOf(Release row) => new(
        [new ChangeSummary.Part(ChangeKind.Added, row.Recordings, row is { LowestKey: { } low, HighestKey: { } high } ? [.. Enumerable.Range(low, high - low + 1)] : [])],
        Bump.None, row.Number, 0, 0);

    /// <summary>Of a bar 300 wide that stands for the whole; never so thin that it can't be seen.</summary>
    public static string BarWidth(long bytes, long whole) =>
        Math.Clamp(300.0 * bytes / Math.Max(1, whole), 3, 300).ToString("0.#", System.Globalization.CultureInfo.InvariantCulture);

    public static string SignInAndBack(string slug) => "/sign-in" + QueryString.Create("return", $"/boxes/{slug}");

    /// <summary>"480: 4 layers, 2 takes"; just the count when there is one of each.</summary>
    public static string RecordingsInWords(Release release)
    {
        var parts = new List<string>();
        if (release.Layers > 1)
            parts.Add(Plural.Of(release.Layers, "layer"));
        if (release.Takes > 1)
            parts.Add(Plural.Of(release.Takes, "take"));
        return parts.Count == 0 ? $"{release.Recordings}" : $"{release.Recordings}: {string.Join(", ", parts)}";
    }

    /// <summary>
    /// What stands across the story where the needed players change between a version and the one below it; null where they don't.
    /// </summary>
    public static string? PlayerChange(ShelfRelease above, ShelfRelease below)
    {
        var (up, down) = (Needs(above), Needs(below));
        if (up == down || up.Length == 0)
            return null;
        return down.Length == 0 ? T($"From here up: {up}.") : T($"From here up: {up}. Below: {down}.");
    }

    /// <summary>64 hex digits in groups of four, as people compare them.</summary>
    public static string Grouped(string hex) => string.Join(' ', hex.Chunk(4).Select(four => new string(four)));

    private static string Needs(ShelfRelease release) => Players.Or(release.Players.Select(p => (p.Name, p.LowestVersion)));
}

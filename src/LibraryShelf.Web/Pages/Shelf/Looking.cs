using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>
/// What is noted of somebody looking at the shelf: the host they came from, and a search that found nothing. Never who; the maker's own looking and robots'
/// are left out.
/// </summary>
public sealed class Looking(Sightings sightings, WhoAsks asks)
{
    /// <param name="context">The request for the page.</param>
    /// <param name="libraryId">The box whose page it is; 0: the shelf.</param>
    public void CameFrom(HttpContext context, long libraryId)
    {
        ArgumentNullException.ThrowIfNull(context);
        if (IsCounted(context) && HostOf(context.Request.Headers.Referer.ToString()) is { } host && !host.Equals(context.Request.Host.Host, StringComparison.OrdinalIgnoreCase))
            sightings.Add(SightingKind.Referrer, libraryId, host);
    }

    /// <param name="context">The request for the page.</param>
    /// <param name="find">What was looked for, in vain.</param>
    public void FoundNothing(HttpContext context, string find)
    {
        ArgumentNullException.ThrowIfNull(context);
        // Who types an address of a person into the field does not look for a sound.
        if (IsCounted(context) && !find.Contains('@', StringComparison.Ordinal))
            sightings.Add(SightingKind.Search, 0, string.Join(' ', find.ToLowerInvariant().Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries)));
    }

    private bool IsCounted(HttpContext context) => !asks.IsRobot && !context.User.IsMaker();

    /// <summary>Of a page of the web; null: none, or written otherwise (RFC 9110 §10.1.3). The rest of the address says what somebody read, and is not looked at.</summary>
    private static string? HostOf(string referer) =>
        Uri.TryCreate(referer, UriKind.Absolute, out var address) && address.Scheme is "http" or "https" && address.IdnHost.Length > 0 ? address.IdnHost.ToLowerInvariant() : null;
}

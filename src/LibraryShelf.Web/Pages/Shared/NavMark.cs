using Microsoft.AspNetCore.Http;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>What aria-current says of a link in the head.</summary>
internal static class NavMark
{
    /// <summary>"page" on the link's own page, "true" anywhere below <paramref name="sections"/>, null (no attribute) elsewhere.</summary>
    public static string? Of(PathString path, string own, params ReadOnlySpan<string> sections)
    {
        if (path == own || (own == "/" && !path.HasValue))
            return "page";
        if (own != "/" && sections.IsEmpty && path.StartsWithSegments(own, StringComparison.Ordinal))
            return "true";
        foreach (var section in sections)
        {
            if (path.StartsWithSegments(section, StringComparison.Ordinal))
                return "true";
        }
        return null;
    }
}

using Microsoft.AspNetCore.Http.Features;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>A link as it came over the wire: a signature holds for the letters as they were sent.</summary>
internal static class LinkTarget
{
    /// <summary>Where the bytes are, and where one waits for them by the same link.</summary>
    public const string Get = "/get/", Wait = "/wait/";

    /// <summary>The request's path and query, without host (RFC 9112 §3.2.2 absolute form) and path base.</summary>
    public static string Of(HttpContext context)
    {
        var target = context.Features.Get<IHttpRequestFeature>()?.RawTarget ?? "";
        if (!target.StartsWith('/') && target.IndexOf(Uri.SchemeDelimiter, StringComparison.Ordinal) is >= 0 and var scheme)
            target = target.IndexOf('/', scheme + Uri.SchemeDelimiter.Length) is >= 0 and var path ? target[path..] : "";
        var prefix = context.Request.PathBase.ToUriComponent();
        return prefix.Length > 0 && target.StartsWith(prefix, StringComparison.Ordinal) ? target[prefix.Length..] : target;
    }
}

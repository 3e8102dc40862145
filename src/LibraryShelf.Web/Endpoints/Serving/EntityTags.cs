using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>The comparisons of RFC 9110 §8.8.3.2 and §13.1 against one strong entity tag (with its quotes).</summary>
internal static class EntityTags
{
    /// <summary>If-Match: strong comparison; a list that can't be read matches nothing, "*" anything.</summary>
    public static bool IfMatch(IList<string?> fields, string current) => Any(fields, current, useStrong: true);

    /// <summary>If-None-Match: weak comparison.</summary>
    public static bool IfNoneMatch(IList<string?> fields, string current) => Any(fields, current, useStrong: false);

    /// <summary>
    /// If-Range (§13.1.5): strong comparison of one tag. A date never matches, because no Last-Modified is sent.
    /// </summary>
    public static bool IfRange(string field, string current) => field.Trim() == current;

    private static bool Any(IList<string?> fields, string current, bool useStrong) =>
        EntityTagHeaderValue.TryParseList(fields!, out var tags)
        && tags.Any(tag => tag.Equals(EntityTagHeaderValue.Any) || tag.Compare(new EntityTagHeaderValue(current), useStrong));
}

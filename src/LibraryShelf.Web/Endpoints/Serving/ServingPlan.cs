namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// How a request for a whole archive or a part of it is answered, decided from its fields alone: status and which bytes.
/// Order of preconditions: RFC 9110 §13.2.2.
/// </summary>
/// <param name="Status">200, 206, 304, 412 or 416.</param>
/// <param name="Ranges">What goes out: one range for 200, one or several for 206, none otherwise.</param>
/// <param name="ResumedFrom">
/// Where a client goes on that already holds all before it: it asked for "from n to the end" and named our entity tag in
/// If-Range, which it can only know from an earlier answer. Null for any other request.
/// </param>
internal sealed record ServingPlan(int Status, IReadOnlyList<ByteRange> Ranges, long? ResumedFrom = null)
{
    public bool HasBytes => Ranges.Count > 0;

    public static ServingPlan For(string method, IHeaderDictionary headers, string etag, long length)
    {
        if (headers.IfMatch.Count > 0 && !EntityTags.IfMatch(headers.IfMatch, etag)) return new(StatusCodes.Status412PreconditionFailed, []);
        if (headers.IfNoneMatch.Count > 0 && EntityTags.IfNoneMatch(headers.IfNoneMatch, etag)) return new(StatusCodes.Status304NotModified, []);
        var whole = new ServingPlan(StatusCodes.Status200OK, length > 0 ? [new ByteRange(0, length)] : []);
        // Range means something for GET only (§14.2), and is no list: sent twice, it can't be understood.
        if (!HttpMethods.IsGet(method) || headers.Range.Count != 1) return whole;
        var names = headers.IfRange.Count > 0;
        if (names && !EntityTags.IfRange(headers.IfRange.ToString(), etag)) return whole;
        var (verdict, ranges) = ByteRanges.Read(headers.Range, length);
        return verdict switch
        {
            RangeVerdict.Some => new(StatusCodes.Status206PartialContent, ranges, names ? Resumed(headers.Range!, ranges) : null),
            RangeVerdict.Unsatisfiable => new(StatusCodes.Status416RangeNotSatisfiable, []),
            _ => whole,
        };
    }

    private static long? Resumed(string field, IReadOnlyList<ByteRange> ranges) =>
        ranges is [{ From: > 0 } only] && field.EndsWith('-') ? only.From : null;
}

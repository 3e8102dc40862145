namespace LibraryShelf.Core.Letters;

/// <summary>
/// The header fields by which a mail program stops a kind of mail for its user (RFC 2369 §3.2, RFC 8058 §3.1). Both have to be covered by a DKIM
/// signature to count: the relay's, or our own (Adapters/Mail).
/// </summary>
internal static class StopHeaders
{
    public const string Where = "List-Unsubscribe", How = "List-Unsubscribe-Post";

    /// <summary>The one value RFC 8058 §3.1 allows; also the body of the POST (§3.2).</summary>
    public const string OneClick = "List-Unsubscribe=One-Click";

    /// <param name="stopAt">Names who and which kind, and can't be guessed; null: the shelf's address is not set, so there are none.</param>
    public static IEnumerable<KeyValuePair<string, string>> Of(string? stopAt)
    {
        if (stopAt is null)
            yield break;
        yield return new(Where, $"<{stopAt}>");
        // One click is for https alone; the maker is told so (OneClick).
        if (stopAt.StartsWith("https://", StringComparison.OrdinalIgnoreCase))
            yield return new(How, OneClick);
    }
}

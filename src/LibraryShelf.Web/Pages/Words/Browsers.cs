namespace LibraryShelf.Web.Pages.Words;

/// <summary>
/// What a person would call a browser: "Firefox on Linux". Read from marks that browsers put into User-Agent (RFC 9110 §10.1.5) and that have stood there
/// for years; what has none of them is "A browser". Nothing else of the header is kept.
/// </summary>
internal static class Browsers
{
    /// <summary>Asked in this order, because each later one's mark also stands in those before it.</summary>
    private static readonly (string Mark, string Name)[] Names =
    [
        ("Edg", "Edge"), ("OPR/", "Opera"), ("SamsungBrowser/", "Samsung Internet"), ("FxiOS/", "Firefox"), ("Firefox/", "Firefox"),
        ("CriOS/", "Chrome"), ("Chrome/", "Chrome"), ("Chromium/", "Chrome"), ("Safari/", "Safari"),
    ];

    private static readonly (string Mark, string Name)[] Machines =
    [
        ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("CrOS", "ChromeOS"), ("Windows", "Windows"), ("Macintosh", "Mac"), ("Linux", "Linux"),
    ];

    public static string Of(string? userAgent)
    {
        var said = userAgent ?? "";
        var name = Array.Find(Names, n => said.Contains(n.Mark, StringComparison.Ordinal)).Name;
        var machine = Array.Find(Machines, m => said.Contains(m.Mark, StringComparison.Ordinal)).Name;
        return (name, machine) switch
        {
            (null, null) => T("A browser"),
            (null, _) => T($"A browser on {machine}"),
            (_, null) => name,
            _ => T($"{name} on {machine}"),
        };
    }
}

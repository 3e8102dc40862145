namespace LibraryShelf.Web.Pages.Words;

/// <summary>Lengths of time that are only roughly known.</summary>
internal static class Spans
{
    /// <summary>"less than a minute", "about 5 minutes", "about an hour", "about 2½ hours"; never less than it is.</summary>
    public static string About(TimeSpan span)
    {
        var minutes = (int)Math.Ceiling(span.TotalMinutes);
        if (span < TimeSpan.FromMinutes(1))
            return T("less than a minute");
        if (minutes <= 50)
            return minutes == 1 ? T("about a minute") : T($"about {minutes} minutes");
        var halves = (int)Math.Ceiling(span.TotalHours * 2);
        return halves <= 2 ? T("about an hour") : halves % 2 == 0 ? T($"about {halves / 2} hours") : T($"about {halves / 2}½ hours");
    }
}

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>What a picture shows and leaves out, in words.</summary>
internal static class PictureWords
{
    /// <summary>A way of playing, one of <see cref="PictureKeys.Ways"/>: "struck, lifts".</summary>
    public static string Way(string way) => way switch
    {
        "" => T("the usual way"),
        PictureKeys.Lifts => T("lifts"),
        _ when way.EndsWith($", {PictureKeys.Lifts}", StringComparison.Ordinal) => T($"{way[..^(PictureKeys.Lifts.Length + 2)]}, lifts"),
        _ => way,
    };

    public static string Microphone(string microphone) => microphone.Length > 0 ? microphone : T("unnamed");

    /// <summary>"Shown: struck, near microphone."</summary>
    public static string Shown(PictureKeys picture)
    {
        var parts = new List<string>();
        if (picture.Ways.Count > 1)
            parts.Add(picture.Way.Length > 0 ? Way(picture.Way) : T("the usual way of playing"));
        if (picture.Microphones.Count > 1)
            parts.Add(picture.Microphone.Length > 0 ? T($"the {picture.Microphone} microphone") : T("the unnamed microphone"));
        return parts.Count > 0 ? T($"Shown: {string.Join(", ", parts)}.") : "";
    }

    /// <summary>How many recordings it leaves out, and of how many of them nobody says the key.</summary>
    public static string NotShown(PictureKeys picture) => (picture.NotShown, picture.Unplaced) switch
    {
        (1, 0) => T("One other recording is in the table."),
        (1, _) => T("One other recording is in the table; nothing says which key one of them is for."),
        (_, 0) => T($"The other {picture.NotShown} recordings are in the table."),
        (_, 1) => T($"The other {picture.NotShown} recordings are in the table; nothing says which key one of them is for."),
        _ => T($"The other {picture.NotShown} recordings are in the table; nothing says which key {picture.Unplaced} of them are for."),
    };
}

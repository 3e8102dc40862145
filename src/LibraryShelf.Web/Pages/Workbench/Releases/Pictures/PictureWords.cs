namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

internal static class PictureWords
{
    /// <summary>"Shown: struck, near microphone."</summary>
    public static string Shown(PictureKeys picture)
    {
        var parts = new List<string>();
        if (picture.Ways.Count > 1)
            parts.Add(picture.Way.Length > 0 ? picture.Way : T("the usual way of playing"));
        if (picture.Microphones.Count > 1)
            parts.Add(picture.Microphone.Length > 0 ? T($"the {picture.Microphone} microphone") : T("the unnamed microphone"));
        return parts.Count > 0 ? T($"Shown: {string.Join(", ", parts)}.") : "";
    }
}

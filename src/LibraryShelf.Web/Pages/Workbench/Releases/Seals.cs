namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A seal as people compare it.</summary>
internal static class Seals
{
    /// <summary>The hex digits in fours: "0a1b 2c3d …".</summary>
    public static string Grouped(string hex) => string.Join(' ', hex.Chunk(4).Select(four => new string(four)));
}

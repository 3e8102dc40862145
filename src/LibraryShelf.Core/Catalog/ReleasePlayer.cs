namespace LibraryShelf.Core.Catalog;

/// <summary>A player program a release opens in, with the lowest version that can, and how to install the library there.</summary>
public sealed class ReleasePlayer
{
    public long Id { get; set; }
    public long ReleaseId { get; set; }
    public string Name { get; set; } = "";
    /// <summary>The player's own numbering, such as 2.3 or 5: dotted numbers, compared part by part.</summary>
    public string LowestVersion { get; set; } = "";
    /// <summary>Steps in Markdown; empty when the player just opens the mapping file.</summary>
    public string HowToInstall { get; set; } = "";
    public int Order { get; set; }
}

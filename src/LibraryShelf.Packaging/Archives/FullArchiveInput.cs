namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Everything a full archive is made from. Equal inputs give equal archives; the order of <see cref="Files"/>, line ends and
/// white space at the ends of texts make no difference.
/// </summary>
public sealed record FullArchiveInput
{
    /// <summary>The library's title; the top folder is made from it and stays the same in every version of one title.</summary>
    public required string Title { get; init; }

    /// <summary>This release's number, such as 1.2.0.</summary>
    public required string Number { get; init; }

    /// <summary>The library's files as its maker laid them out; paths within the folder.</summary>
    public required IReadOnlyList<RecipeEntry> Files { get; init; }

    /// <summary>What changed, this release first, then every earlier one, newest first.</summary>
    public IReadOnlyList<ReleaseChange> Changes { get; init; } = [];

    /// <summary>An SPDX licence id, or null when <see cref="LicenceText"/> is the maker's own.</summary>
    public string? LicenceSpdx { get; init; }
    public string LicenceText { get; init; } = "";
    public string Credits { get; init; } = "";

    /// <summary>The players it opens in, in the maker's order.</summary>
    public IReadOnlyList<PlayerGuide> Players { get; init; } = [];

    /// <summary>The date every file carries, 1980 to 2107.</summary>
    public DateOnly Dated { get; init; } = Recipe.Undated;
}

/// <summary>What one release changed, in Markdown; the date is null when it is not dated.</summary>
public sealed record ReleaseChange(string Number, DateOnly? Date, string Notes);

/// <summary>A player program, the lowest version of it that opens the library (may be empty), and the steps to install it there (Markdown; may be empty).</summary>
public sealed record PlayerGuide(string Name, string LowestVersion, string HowToInstall);

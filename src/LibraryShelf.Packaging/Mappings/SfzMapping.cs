namespace LibraryShelf.Packaging.Mappings;

/// <summary>One SFZ file as a player reads it: its regions, the files it includes, and what could not be taken as it stands.</summary>
public sealed record SfzMapping(
    string Path, IReadOnlyList<SfzRegion> Regions, IReadOnlyCollection<string> Includes, IReadOnlyList<SfzProblem> Problems);

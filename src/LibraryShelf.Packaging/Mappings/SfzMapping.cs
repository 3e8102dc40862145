namespace LibraryShelf.Packaging.Mappings;

/// <summary>One SFZ file as a player reads it: its regions, the files it includes, and what could not be taken as it stands.</summary>
public sealed record SfzMapping(
    string Path, IReadOnlyList<SfzRegion> Regions, IReadOnlyCollection<string> Includes, IReadOnlyList<SfzProblem> Problems)
{
    /// <summary>Opcodes of the control header as last written, such as set_cc1; default_path is in the regions.</summary>
    public IReadOnlyDictionary<string, string> Control { get; init; } = new Dictionary<string, string>();
}

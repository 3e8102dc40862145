namespace LibraryShelf.Packaging.Mappings;

public enum SfzProblemKind
{
    UnknownOpcode,
    UnknownHeader,
    UnreadableValue,
    StrayText,
    /// <summary>#include of a file the folder lacks.</summary>
    IncludeMissing,
    /// <summary>#include of a file outside the folder.</summary>
    IncludeOutside,
    /// <summary>#include of a file that includes this one.</summary>
    IncludeLoop,
    /// <summary>#include in more than <see cref="SfzLines.MaxDepth"/> files within each other.</summary>
    IncludeTooDeep,
    /// <summary>More lines, regions or letters than are read.</summary>
    TooLarge,
}

/// <summary>Something in a mapping that could not be taken as it stands. <see cref="Text"/> is the offending text, shortened; of a mapping that is too large, what there is too much of.</summary>
public sealed record SfzProblem(SfzProblemKind Kind, string File, int Line, string Text);

/// <summary>Collects problems, bounded; a name that is unknown everywhere is mentioned once.</summary>
internal sealed class SfzProblems
{
    private const int LongestText = 80, Most = 200;

    private readonly List<SfzProblem> all = [];

    public IReadOnlyList<SfzProblem> All => all;

    public void Add(SfzProblemKind kind, string file, int line, string text)
    {
        var shown = text.Trim();
        shown = shown.Length > LongestText && kind != SfzProblemKind.TooLarge ? string.Concat(shown.EnumerateRunes().Take(LongestText)) + "…" : shown;
        var onceIsEnough = kind is SfzProblemKind.UnknownOpcode or SfzProblemKind.UnknownHeader or SfzProblemKind.TooLarge;
        // Two hundred words that nobody knows must not hide that the mapping was not read whole.
        var isGrave = kind is not (SfzProblemKind.UnknownOpcode or SfzProblemKind.UnknownHeader or SfzProblemKind.UnreadableValue or SfzProblemKind.StrayText);
        if (all.Count < (isGrave ? 2 * Most : Most) && !(onceIsEnough && all.Exists(p => p.Kind == kind && p.Text == shown)))
            all.Add(new SfzProblem(kind, file, line, shown));
    }
}

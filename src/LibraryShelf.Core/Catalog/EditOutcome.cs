using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Catalog;

/// <summary>What became of an edit at the workbench.</summary>
public abstract record EditOutcome
{
    private EditOutcome() { }

    /// <summary>Kept. The warnings are for the maker to think about; they hold nothing up.</summary>
    public sealed record Saved(IReadOnlyList<string> Warnings) : EditOutcome
    {
        public Saved() : this([]) { }
    }

    /// <summary>Nothing was changed.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : EditOutcome
    {
        public Refused(Refusal refusal) : this([refusal]) { }
    }

    /// <summary>
    /// Someone saved something else since the form was opened, or at this very moment. Nothing was changed; what was typed is the page's to
    /// keep.
    /// </summary>
    public sealed record ChangedMeanwhile : EditOutcome;

    /// <summary>There is no such row (any more).</summary>
    public sealed record Missing : EditOutcome;
}

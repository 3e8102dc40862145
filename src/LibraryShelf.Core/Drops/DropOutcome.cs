using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Drops;

/// <summary>What became of a change to a month's drop.</summary>
public abstract record DropOutcome
{
    private DropOutcome() { }

    /// <summary>It stands as wished. When its instant has come, wake the job that sends it.</summary>
    public sealed record Done(bool IsDue) : DropOutcome;

    /// <summary>Nothing was changed; the field is one of <see cref="DropForm"/>, or "" when it is about the whole.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : DropOutcome
    {
        public Refused(string field, string words) : this([new Refusal(field, words)]) { }
    }

    /// <summary>It was changed elsewhere since the page was opened, or at this very moment. Nothing was changed.</summary>
    public sealed record ChangedMeanwhile : DropOutcome;

    /// <summary>The month has no drop, or there is no such version (any more).</summary>
    public sealed record Missing : DropOutcome;
}

using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Drops;

/// <summary>What became of a change to a month's drop.</summary>
public abstract record DropOutcome
{
    private DropOutcome() { }

    /// <summary>It stands as wished.</summary>
    /// <param name="DueId">The drop, where its instant has come, so that it asks: wake the job, which says so. Null: it has not.</param>
    public sealed record Done(long? DueId) : DropOutcome
    {
        internal static Done Of(Drop drop, DateTimeOffset now) => new(drop.State == DropState.Planned && drop.DueAt <= now ? drop.Id : null);
    }

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

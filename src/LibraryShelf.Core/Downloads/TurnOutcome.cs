namespace LibraryShelf.Core.Downloads;

/// <summary>What somebody meets who wants to download where downloads take turns.</summary>
public abstract record TurnOutcome
{
    private TurnOutcome() { }

    /// <summary>Bytes may go out. <paramref name="Turn"/> is asked before each piece, and disposed of at the end.</summary>
    public sealed record Runs(DownloadTurn Turn) : TurnOutcome;

    /// <summary>Asked by somebody who does not begin yet: the turn is theirs for <see cref="DownloadTurns.BeginWithin"/>; <paramref name="HasBegun"/>: it runs already.</summary>
    public sealed record MayBegin(bool HasBegun) : TurnOutcome;

    /// <summary>
    /// Not yet. <paramref name="Place"/>: 1 is the next. <paramref name="About"/>: roughly how long it will take; null when nothing can be said.
    /// The place is kept for whoever asks again, at best after <paramref name="AskAgain"/>.
    /// </summary>
    public sealed record Waits(int Place, TimeSpan? About, TimeSpan AskAgain) : TurnOutcome;
}

namespace LibraryShelf.Audio.Comparing;

public enum LikenessKind
{
    /// <summary>The same samples.</summary>
    Same,
    /// <summary>The same samples times a gain.</summary>
    Level,
    /// <summary>The same samples, times a gain or not, begun or ended elsewhere, or faded at an end.</summary>
    Trimmed,
    /// <summary>Another recording, or one that was worked on in another way.</summary>
    Other,
}

/// <summary>
/// What the newer of two recordings is of the older. <paramref name="GainDb"/>: how much louder it is, dB, 0 for another one;
/// <paramref name="IsInverted"/>: it is turned upside down as well. <paramref name="CutHead"/> and <paramref name="CutTail"/>: frames that it
/// lacks at its start and end, negative when it has more.
/// </summary>
public sealed record RecordingLikeness(
    LikenessKind Kind, double GainDb = 0, bool IsInverted = false, long CutHead = 0, long CutTail = 0, bool IsFadedIn = false, bool IsFadedOut = false)
{
    public static readonly RecordingLikeness Other = new(LikenessKind.Other);
}

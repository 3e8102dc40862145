using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>A number of frames as people say it.</summary>
internal static class DurationWords
{
    /// <summary>"1.25 s", "12 ms", "3 frames" when it is under a millisecond or the rate is not known.</summary>
    public static string Of(long frames, int rate)
    {
        var seconds = rate > 0 ? (double)frames / rate : 0;
        return seconds switch
        {
            >= 1 => string.Create(Say.Culture, $"{seconds:0.##} s"),
            >= 0.001 => string.Create(Say.Culture, $"{seconds * 1000:0} ms"),
            _ => Words.Count(frames, "frame", "frames"),
        };
    }
}

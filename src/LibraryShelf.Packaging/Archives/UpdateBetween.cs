namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Which two versions an update archive lies between, as its own REMOVED.txt says in the first line. That file is in every update, also where
/// nothing is left over, so that an update is never taken for a library with files missing.
/// </summary>
/// <param name="From">The number of the version it is from.</param>
/// <param name="To">The number of the version it leads to.</param>
public sealed record UpdateBetween(string From, string To)
{
    private const string Said = " This is the update from ", Then = " to ";

    /// <summary>Bytes in which the first line ends; a number has no bound, but names of files have (255).</summary>
    public const int MostLineBytes = 1024;

    /// <summary>The sentence at the end of the first line.</summary>
    public string Sentence => $"{Said}{From}{Then}{To}.";

    /// <summary>What the first line says; null when the file is not an update's.</summary>
    public static UpdateBetween? Read(string? firstLine)
    {
        if (firstLine?.StartsWith(UpdateArchive.RemovedBeginning, StringComparison.Ordinal) != true || !firstLine.EndsWith('.'))
            return null;
        var at = firstLine.LastIndexOf(Said, StringComparison.Ordinal);
        // Numbers hold no spaces (SemVer 2.0.0 §2, §9, §10).
        return at >= 0 && firstLine[(at + Said.Length)..^1].Split(Then) is [{ Length: > 0 } from, { Length: > 0 } to] ? new UpdateBetween(from, to) : null;
    }

    /// <summary>A file at the top of the folder that may be an update's list.</summary>
    public static bool MayStandIn(string path) =>
        !path.Contains('/') && path.StartsWith("REMOVED.", StringComparison.Ordinal) && path.EndsWith(".txt", StringComparison.Ordinal);
}

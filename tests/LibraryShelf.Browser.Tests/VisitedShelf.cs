namespace LibraryShelf.Browser.Tests;

/// <summary>
/// A running shelf that nobody has claimed yet, so that its pages can be looked at from the first on. Its line is so narrow that one download takes a while and the
/// next waits for it.
/// </summary>
public sealed class VisitedShelf() : ClaimedShelf(["--Shelf:Bandwidth:MostAtOnce=1", "--Shelf:Bandwidth:TotalBytesPerSecond=65536"])
{
    /// <summary>Of each of five recordings: the archive is larger than what waits for nobody (DownloadTurns.Small, a megabyte).</summary>
    private const double Seconds = 2.5;

    /// <summary>Left to the test.</summary>
    protected override Task ClaimAsync()
    {
        KettleFolder.Write(Folder, seconds: Seconds);
        return Task.CompletedTask;
    }
}

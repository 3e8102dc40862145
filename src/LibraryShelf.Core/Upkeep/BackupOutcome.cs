namespace LibraryShelf.Core.Upkeep;

/// <summary>What a night's backup came to.</summary>
public abstract record BackupOutcome
{
    private BackupOutcome() { }

    /// <summary>No folder for backups is set, or this shelf is only there to try one.</summary>
    public sealed record Off : BackupOutcome;

    /// <summary>It is there. <paramref name="NewBlobs"/> and <paramref name="NewBytes"/>: what came to the blobs of earlier ones.</summary>
    /// <param name="Name">Its folder.</param>
    /// <param name="Blobs">All blobs it names.</param>
    /// <param name="Removed">Backups that were older than they are kept.</param>
    public sealed record Made(string Name, int Blobs, int NewBlobs, long NewBytes, int Removed) : BackupOutcome
    {
        /// <summary>Copies of earlier nights that had gone bad on the disk and were made anew from the shelf.</summary>
        public int Mended { get; init; }
    }

    /// <summary>It is there, but some of the shelf's own files could not be read, or are not what they were, or files that only earlier backups name have gone bad among the backups: <paramref name="Words"/>, for the maker.</summary>
    public sealed record MadeWithout(string Name, IReadOnlyList<string> Missing, string Words) : BackupOutcome;

    /// <summary>The maker stopped it. Its folder is gone, earlier ones are as they were, and the blobs that were copied are there for the next.</summary>
    public sealed record Stopped : BackupOutcome;

    /// <summary>It was not made; earlier ones are as they were. <paramref name="Words"/>, for the maker.</summary>
    public sealed record NotMade(string Words) : BackupOutcome;
}

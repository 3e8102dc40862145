namespace LibraryShelf.Core.Upkeep;

/// <summary>What restoring came to.</summary>
public abstract record RestoreOutcome
{
    private RestoreOutcome() { }

    /// <summary>The data directory is a shelf again, and quiet.</summary>
    /// <param name="Name">The backup's.</param>
    /// <param name="Manifest">What it was made of.</param>
    /// <param name="Without">Blobs that are not there: the backup's own copy was damaged or gone, and it was to go on without.</param>
    /// <param name="DeletedAgain">People who had themselves deleted after it was made.</param>
    /// <param name="Mails">Mails that wait, held, without those that the maker had stopped.</param>
    public sealed record Restored(string Name, BackupManifest Manifest, IReadOnlyList<string> Without, int DeletedAgain, int Mails) : RestoreOutcome
    {
        /// <summary>Upload tokens that were revoked.</summary>
        public int Tokens { get; init; }

        /// <summary>Stops of mails that were made after it, and hold again.</summary>
        public int Stops { get; init; }

        /// <summary>It is held for good (<see cref="Catalog.Shop.IsTrial"/>).</summary>
        public bool IsTrial { get; init; }
    }

    /// <summary>Nothing was restored; <paramref name="Words"/> say why and what to do.</summary>
    public sealed record Refused(string Words) : RestoreOutcome;
}

/// <param name="Name">Of the backup; null: the latest.</param>
/// <param name="WithoutDamaged">Go on without blobs whose copies in the backup are damaged.</param>
/// <param name="DatabaseIsRestored">The operator says that the server's database holds the backup's copy; asked for on PostgreSQL alone.</param>
/// <param name="IsTrial">It is to be seen whether the backup is of use: the shelf is held for good, and touches nothing real.</param>
public sealed record RestoreWish(string? Name, bool WithoutDamaged, bool DatabaseIsRestored, bool IsTrial = false);

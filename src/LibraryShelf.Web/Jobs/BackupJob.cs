using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Jobs;

/// <summary>Each night: makes a backup, where a folder for them is set.</summary>
public sealed class BackupJob(MakeBackup make)
{
    /// <returns>Why it was not made, or what is not in it, for the maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken) => await make.RunAsync(cancellationToken) switch
    {
        BackupOutcome.NotMade not => not.Words,
        BackupOutcome.MadeWithout without => without.Words,
        _ => null,
    };
}

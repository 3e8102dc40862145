using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Jobs;

/// <summary>After somebody was deleted: notes it beside the backups.</summary>
public sealed class KeepDeletionsJob(KeepDeletions keep)
{
    /// <returns>Why it could not, for the maker.</returns>
    public Task<string?> RunAsync(CancellationToken cancellationToken) => keep.RunAsync(cancellationToken);
}

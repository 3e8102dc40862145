using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Jobs;

/// <summary>After somebody was deleted or wanted no mails: notes it beside the backups.</summary>
public sealed class KeepDeletionsJob(KeepDeletions deletions, KeepStops stops)
{
    /// <returns>Why it could not, for the maker.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var undeleted = await deletions.RunAsync(cancellationToken);
        return await stops.RunAsync(cancellationToken) is { } unstopped ? $"{undeleted} {unstopped}".TrimStart() : undeleted;
    }
}

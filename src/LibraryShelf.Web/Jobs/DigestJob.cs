using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Reads an archive through once and keeps its SHA-256.</summary>
public sealed class DigestJob(DigestArchive digest, ILogger<DigestJob> log)
{
    /// <returns>Why it could not be read, for the maker; null when all is well.</returns>
    public async Task<string?> RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        switch (await digest.RunAsync(archiveId, cancellationToken))
        {
            case DigestArchiveOutcome.Damaged damaged:
                log.LogError(damaged.Fault, "Archive {Archive}: {Reason}", archiveId, damaged.Reason);
                return damaged.Reason;
            case DigestArchiveOutcome.NotWanted unread:
                // What was wrong with it is not over because nobody looks.
                return unread.Trouble;
            default:
                return null;
        }
    }
}

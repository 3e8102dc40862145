using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Jobs;

/// <summary>Reads an archive through once and keeps its SHA-256.</summary>
public sealed class DigestJob(DigestArchive digest, ILogger<DigestJob> log)
{
    public async Task RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        if (await digest.RunAsync(archiveId, cancellationToken) is DigestArchiveOutcome.Damaged damaged)
            log.LogError("{Reason}", damaged.Reason);
    }
}

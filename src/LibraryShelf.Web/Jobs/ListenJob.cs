using LibraryShelf.Core.Sealing.Listening;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Makes what can be heard of versions, then of the music beside them: one after the other, so that a shelf on which nothing was made yet keeps one
/// worker busy with it and not all.
/// </summary>
public sealed class ListenJob(FindUnheard unheard, MakeListening make, MakeMusic music, ListListenTroubles troubles, ILogger<ListenJob> log)
{
    /// <returns>What can't be heard, for the maker, also where an earlier run found it; null when all is well.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var (releases, libraries) = await unheard.RunAsync(cancellationToken);
        foreach (var id in releases)
        {
            switch (await make.RunAsync(id, cancellationToken))
            {
                case MakeListeningOutcome.Stopped stopped:
                    log.LogError(stopped.Fault, "Release {Release}: {Reason}", id, stopped.Reason);
                    break;
                case MakeListeningOutcome.PutOff putOff:
                    log.LogWarning(putOff.Fault, "Release {Release}: {Reason}", id, putOff.Reason);
                    // The next would not find more room.
                    return putOff.Reason;
            }
        }
        var putOffs = new List<string>();
        foreach (var id in libraries)
        {
            switch (await music.RunAsync(id, cancellationToken))
            {
                case MakeMusicOutcome.Refused refused:
                    log.LogError(refused.Fault, "Music of library {Library}: {Reason}", id, refused.Reason);
                    break;
                case MakeMusicOutcome.PutOff putOff:
                    log.LogWarning(putOff.Fault, "Music of library {Library}: {Reason}", id, putOff.Reason);
                    putOffs.Add(putOff.Reason);
                    break;
            }
        }
        // Not this run's alone: the next one finds nothing to do, and all would seem well.
        List<string> words = [.. putOffs, .. await troubles.RunAsync(cancellationToken)];
        return words.Count == 0 ? null : string.Join(' ', words);
    }
}

using LibraryShelf.Core.Sealing.Listening;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Makes what can be heard of versions, and of the music beside them: one after the other, so that a shelf on which nothing was made yet keeps one worker busy with it
/// and not all.
/// </summary>
public sealed class ListenJob(FindUnheard unheard, MakeListening make, MakeMusic music, ILogger<ListenJob> log)
{
    /// <returns>What could not be made, for the maker; null when all is well.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var (releases, libraries) = await unheard.RunAsync(cancellationToken);
        foreach (var id in libraries)
            await music.RunAsync(id, cancellationToken);
        var words = new List<string>();
        foreach (var id in releases)
        {
            switch (await make.RunAsync(id, cancellationToken))
            {
                case MakeListeningOutcome.Stopped stopped:
                    log.LogError(stopped.Fault, "Release {Release}: {Reason}", id, stopped.Reason);
                    words.Add(stopped.Reason);
                    break;
                case MakeListeningOutcome.PutOff putOff:
                    log.LogWarning(putOff.Fault, "Release {Release}: {Reason}", id, putOff.Reason);
                    // The next would not find more room.
                    return putOff.Reason;
            }
        }
        return words.Count == 0 ? null : string.Join(' ', words);
    }
}

namespace LibraryShelf.Web.Jobs;

/// <summary>Tells those who wait for a check in this program that one has ended, whichever: they look for themselves.</summary>
public sealed class CheckEnds
{
    private TaskCompletionSource next = New();

    /// <summary>Done when the next check ends; to be taken before looking, so that no end slips through between.</summary>
    public Task Next => Volatile.Read(ref next).Task;

    public void Say() => Interlocked.Exchange(ref next, New()).SetResult();

    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);
}

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// Lets a few requests at a time ask the database about their link; the rest wait outside, holding neither a thread nor a connection. When hundreds press
/// at the hour of a drop, more at once would not be faster on SQLite, whose calls keep their thread, and each would leave a connection with its
/// memory in the pool.
/// </summary>
internal sealed class LinkDoor : IDisposable
{
    private readonly SemaphoreSlim places = new(4 * Environment.ProcessorCount);

    /// <param name="ask">Asks the database alone: who writes an answer in here would let a slow client keep the door.</param>
    /// <param name="cancellationToken">Gives the place outside up; nothing was then asked.</param>
    public async Task<T> PassAsync<T>(Func<Task<T>> ask, CancellationToken cancellationToken)
    {
        await places.WaitAsync(cancellationToken);
        try
        {
            return await ask();
        }
        finally
        {
            places.Release();
        }
    }

    public void Dispose() => places.Dispose();
}

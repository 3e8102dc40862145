namespace LibraryShelf.Core.Payments;

/// <summary>
/// Wishes to the provider, one after the other. One in vain is put off and the next is tried, so that a single membership the provider refuses holds up
/// nobody; after three in a row the provider is taken to be away.
/// </summary>
internal sealed class MoneyTries(TimeProvider clock)
{
    private const int MostInARow = 3;

    private static readonly TimeSpan PutOff = TimeSpan.FromHours(1);

    private int inARow, failed;
    private string last = "";

    public bool IsAway => inARow >= MostInARow;

    /// <param name="wish">What is tried.</param>
    /// <param name="putOff">Writes down when it is tried again.</param>
    public async Task TryAsync(Func<Task> wish, Func<DateTimeOffset, Task> putOff)
    {
        try
        {
            await wish();
            inARow = 0;
        }
        catch (PaymentsUnreachableException away)
        {
            (inARow, failed, last) = (inARow + 1, failed + 1, away.Message);
            await putOff(clock.GetUtcNow() + PutOff);
        }
    }

    /// <param name="sentence">Of "1 member" or "12 members", and what the provider answered last.</param>
    /// <returns>Null when nothing was in vain.</returns>
    public string? Words(Func<Counted, string, string> sentence) => failed == 0 ? null : sentence(Say.Count(failed, "member", "members"), last);
}

namespace LibraryShelf.Web.Practice;

/// <summary>
/// The clock of a shelf in practice mode: the machine's, and as far ahead of it as the ledger says. "Let a month pass" moves the whole shelf with
/// the stand-in. Only what time it is moves: waits last as long as they last.
/// </summary>
internal sealed class PracticeClock : TimeProvider
{
    /// <summary>The key of the clock it is ahead of.</summary>
    public const string Machine = "machine";

    private long aheadSeconds;

    public PracticeClock([FromKeyedServices(Machine)] TimeProvider machine, LedgerFile file)
    {
        Behind = machine;
        aheadSeconds = file.Read().AheadSeconds;
    }

    /// <summary>The machine's own clock, for what must not be moved, such as how long somebody stays signed in.</summary>
    public TimeProvider Behind { get; }

    public override TimeZoneInfo LocalTimeZone => Behind.LocalTimeZone;

    public override long TimestampFrequency => Behind.TimestampFrequency;

    public override DateTimeOffset GetUtcNow() => Behind.GetUtcNow().AddSeconds(Volatile.Read(ref aheadSeconds));

    public override long GetTimestamp() => Behind.GetTimestamp();

    public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
        Behind.CreateTimer(callback, state, dueTime, period);

    public void SetAhead(long seconds) => Volatile.Write(ref aheadSeconds, seconds);
}

using System.Threading.Channels;

namespace LibraryShelf.Web.Practice;

/// <summary>
/// The stand-in for the payment provider, on this machine. One at a time: whatever is asked, what fell due before it happens first, and everything
/// stands in the ledger's file before the answer goes out. What ends with a fault leaves no trace.
/// </summary>
internal sealed class StandIn
{
    private readonly Lock gate = new();
    private readonly LedgerFile file;
    private readonly PracticeClock clock;
    private readonly Channel<bool> wake = Channel.CreateBounded<bool>(new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private Ledger ledger;

    public StandIn(LedgerFile file, PracticeClock clock)
    {
        this.file = file;
        this.clock = clock;
        ledger = file.Read();
    }

    /// <summary>Has something whenever messages may wait to be sent.</summary>
    public ChannelReader<bool> MessagesWait => wake.Reader;

    public T Do<T>(Func<Billing, T> act)
    {
        lock (gate)
        {
            try
            {
                var billing = new Billing(ledger, clock.GetUtcNow().ToUnixTimeSeconds());
                billing.CatchUp();
                var answer = act(billing);
                file.Keep(ledger);
                if (ledger.Messages.Count > 0)
                    wake.Writer.TryWrite(true);
                return answer;
            }
            catch
            {
                ledger = file.Read();
                throw;
            }
        }
    }

    public void Do(Action<Billing> act) => Do(billing =>
    {
        act(billing);
        return true;
    });

    /// <summary>Moves the shelf's clock on; what falls due between happens in order, each at its own moment.</summary>
    public void LetPass(Func<DateTimeOffset, DateTimeOffset> until)
    {
        lock (gate)
        {
            var now = clock.GetUtcNow();
            var ahead = ledger.AheadSeconds + (long)(until(now) - now).TotalSeconds;
            // The file first: after a crash the clock must not stand behind what was done at it.
            ledger.AheadSeconds = ahead;
            file.Keep(ledger);
            clock.SetAhead(ahead);
            Do(_ => { });
        }
    }

    public void Wake() => wake.Writer.TryWrite(true);
}

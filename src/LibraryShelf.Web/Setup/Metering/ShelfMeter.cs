using System.Diagnostics.Metrics;
using LibraryShelf.Core.Downloads;

namespace LibraryShelf.Web.Setup.Metering;

/// <summary>
/// What whoever runs the server may watch: how much goes out, what waits, what fails. No tag names a link, a person, a title or an address: each is one of a few
/// words that stand in this program. Names follow the semantic conventions of OpenTelemetry where there is one for it, else they begin with libraryshelf.
/// </summary>
internal sealed class ShelfMeter : IDisposable
{
    public const string Name = "LibraryShelf";

    private readonly Meter _meter;
    private readonly Counter<long> _bytes;
    private readonly Counter<long> _answers;
    private readonly Counter<long> _failures;
    private readonly Counter<long> _mails;
    private readonly Histogram<double> _jobs;

    public ShelfMeter(IMeterFactory meters, EventQueue queue)
    {
        _meter = meters.Create(Name);
        _bytes = _meter.CreateCounter<long>("libraryshelf.download.io", "By", "Bytes of archives that were handed over.");
        _answers = _meter.CreateCounter<long>("libraryshelf.download.requests", "{request}", "Requests with a download link, by status.");
        _meter.CreateObservableUpDownCounter("libraryshelf.download.answers", () => queue.Answers, "{answer}", "Answers with bytes that are under way.");
        _meter.CreateObservableUpDownCounter("libraryshelf.download.events.waiting", () => queue.Waiting, "{event}", "Download events on their way to the database.");
        _failures = _meter.CreateCounter<long>("libraryshelf.job.failures", "{run}", "Runs of jobs that failed or could not do their work.");
        _jobs = _meter.CreateHistogram<double>("libraryshelf.job.duration", "s", "How long runs of jobs took.", advice: new() { HistogramBucketBoundaries = [0.01, 0.1, 0.5, 1, 5, 10, 30, 60, 300, 900, 3600] });
        _mails = _meter.CreateCounter<long>("libraryshelf.mail.outcomes", "{mail}", "Mails by what became of them: sent, put off, given up, left out.");
    }

    public void HandedOver(long bytes) => _bytes.Add(bytes);

    public void Answered(int status) => _answers.Add(1, new KeyValuePair<string, object?>("http.response.status_code", status));

    /// <param name="job">The class of the job: there are some twenty.</param>
    /// <param name="took">From its start to its end.</param>
    /// <param name="isFailed">It threw, or answered with words.</param>
    public void Ran(Type job, TimeSpan took, bool isFailed)
    {
        var name = new KeyValuePair<string, object?>("libraryshelf.job.name", job.Name);
        _jobs.Record(took.TotalSeconds, name);
        if (isFailed)
            _failures.Add(1, name);
    }

    public void Mailed(Core.Letters.OutboxRound round)
    {
        Add("sent", round.Sent);
        Add("put_off", round.PutOff);
        Add("given_up", round.GivenUp);
        Add("left_out", round.LeftOut);

        void Add(string outcome, int mails)
        {
            if (mails > 0)
                _mails.Add(mails, new KeyValuePair<string, object?>("libraryshelf.mail.outcome", outcome));
        }
    }

    public void Dispose() => _meter.Dispose();
}

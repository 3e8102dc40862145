using System.Data.Common;
using System.Diagnostics;
using System.IO.Compression;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Xunit.Abstractions;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>
/// How long a folder of 20,000 files holds SQLite's one writer; the house's rule is 250 ms. The figures are printed. The bound here
/// is on the processor's time, which a loaded machine stretches less, and wide for all that.
/// </summary>
[Trait("Database", "sqlite")]
public sealed class WriterHeldTests(ITestOutputHelper output) : IDisposable
{
    private const int Files = 20_000;
    private static readonly TimeSpan Bound = TimeSpan.FromSeconds(2);
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task A_plan_of_20000_lines_holds_the_writer_shortly()
    {
        var watch = new HeldWatch();
        bench.Watch = watch;
        await PlanAsync("first", Lines(version: 1, changed: Files));
        await PlanAsync("the same again", Lines(version: 1, changed: Files));
        await PlanAsync("one in a hundred changed", Lines(version: 2, changed: Files / 100));
        await PlanAsync("every line changed", Lines(version: 3, changed: Files));
        await PlanAsync("all but one gone", [.. Lines(version: 3, changed: Files).Take(1)]);

        async Task PlanAsync(string what, PlannedFile[] files)
        {
            var whole = Stopwatch.StartNew();
            Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(files));
            output.WriteLine($"{what}: writer held {watch.Longest.TotalMilliseconds:N0} ms (processor {watch.Processor.TotalMilliseconds:N0} ms) of {whole.ElapsedMilliseconds:N0} ms");
            Assert.InRange(watch.Processor, TimeSpan.FromTicks(1), Bound);
            (watch.Longest, watch.Processor) = (default, default);
            Assert.Equal(files.Length, (await bench.ManifestAsync()).Count);
        }
    }

    [Fact]
    public async Task A_zip_of_many_files_holds_the_writer_shortly()
    {
        using var stream = new MemoryStream();
        await using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
            for (var i = 0; i < 3000; i++)
            {
                await using var entry = await zip.CreateEntry($"low/take {i}.txt", CompressionLevel.NoCompression).OpenAsync();
                await entry.WriteAsync(Bytes($"take {i}"));
            }
        var id = await bench.StartedAsync("kettle.zip", stream.Length, null, UploadKind.Zip);
        await bench.AppendAsync(id, 0, stream.ToArray());
        var watch = new HeldWatch();
        bench.Watch = watch;
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(id));
        output.WriteLine($"3,000 files: writer held {watch.Longest.TotalMilliseconds:N0} ms at most");
        Assert.InRange(watch.Processor, TimeSpan.FromTicks(1), Bound);
        Assert.Equal(3000, (await bench.ManifestAsync()).Count);
    }

    private static PlannedFile[] Lines(int version, int changed) =>
        [.. Enumerable.Range(0, Files).Select(i => Line($"Kettle/layer {i % 7}/take {i}.wav", Bytes($"{i} {(i < changed ? version : 1)}")))];

    /// <summary>From the begin of a transaction to the end of its commit.</summary>
    internal sealed class HeldWatch : DbTransactionInterceptor
    {
        private long begun;
        private TimeSpan processorThen;

        public TimeSpan Longest { get; set; }

        /// <summary>Of the whole process, so an upper bound.</summary>
        public TimeSpan Processor { get; set; }

        public override ValueTask<DbTransaction> TransactionStartedAsync(
            DbConnection connection, TransactionEndEventData eventData, DbTransaction result, CancellationToken cancellationToken = default)
        {
            (begun, processorThen) = (Stopwatch.GetTimestamp(), Environment.CpuUsage.TotalTime);
            return base.TransactionStartedAsync(connection, eventData, result, cancellationToken);
        }

        public override Task TransactionCommittedAsync(
            DbTransaction transaction, TransactionEndEventData eventData, CancellationToken cancellationToken = default)
        {
            var held = Stopwatch.GetElapsedTime(begun);
            Longest = held > Longest ? held : Longest;
            var processor = Environment.CpuUsage.TotalTime - processorThen;
            Processor = processor > Processor ? processor : Processor;
            return base.TransactionCommittedAsync(transaction, eventData, cancellationToken);
        }
    }
}

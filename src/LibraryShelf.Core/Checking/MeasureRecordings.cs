using System.Text.Json;
using System.Threading.Channels;
using LibraryShelf.Audio;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// Facts of recordings by content hash: known ones are read, the others measured side by side and written in small batches, so that a
/// crash costs little and no transaction holds the writer long.
/// </summary>
/// <param name="db">The shelf.</param>
/// <param name="blobs">Where the recordings are.</param>
/// <param name="clock">Now.</param>
/// <param name="remembered">What was read before; null: everything is read.</param>
internal sealed class MeasureRecordings(ShelfDb db, IBlobStore blobs, TimeProvider clock, KnownFacts? remembered)
{
    private const int AtOnce = 2, Batch = 50, HashesAskedAtOnce = 500;

    /// <summary>Progress is written at most this often.</summary>
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(300);

    /// <summary>Facts of all <paramref name="hashes"/>.</summary>
    /// <param name="hashes">Of the recordings; each once.</param>
    /// <param name="goesOn">Gets how many are known so far, and says whether somebody still wants the others.</param>
    /// <param name="cancellationToken">Ends it; what was measured since the last writing is lost.</param>
    /// <returns>Null: nobody wants them any more. What was measured by then is written.</returns>
    public async Task<Dictionary<string, RecordingFacts>?> EnsureAsync(
        IReadOnlyList<string> hashes, Func<int, CancellationToken, Task<bool>> goesOn, CancellationToken cancellationToken)
    {
        var facts = await KnownAsync(hashes, cancellationToken);
        var missing = hashes.Where(h => !facts.ContainsKey(h)).ToList();
        if (!await goesOn(facts.Count, cancellationToken))
            return null;
        if (missing.Count == 0)
            return facts;

        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        var measured = Channel.CreateBounded<(string Hash, RecordingFacts Facts)>(Batch);
        var measuring = MeasureAllAsync(missing, measured.Writer, stop.Token);
        var isWanted = true;
        try
        {
            isWanted = await CollectAsync(measured.Reader, facts, goesOn, cancellationToken);
        }
        finally
        {
            await stop.CancelAsync();
            await measuring.ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
        }
        if (isWanted)
            return facts;
        var rest = new List<(string Hash, RecordingFacts Facts)>();
        while (measured.Reader.TryRead(out var one))
            rest.Add(one);
        await WriteAsync(rest, cancellationToken);
        return null;
    }

    /// <summary>The same where somebody wants them in any case.</summary>
    public async Task<Dictionary<string, RecordingFacts>> EnsureAsync(IReadOnlyList<string> hashes, CancellationToken cancellationToken) =>
        (await EnsureAsync(hashes, (_, _) => Task.FromResult(true), cancellationToken))!;

    private async Task<Dictionary<string, RecordingFacts>> KnownAsync(IReadOnlyList<string> hashes, CancellationToken cancellationToken)
    {
        var known = new Dictionary<string, RecordingFacts>(StringComparer.Ordinal);
        foreach (var some in hashes.Chunk(HashesAskedAtOnce))
        {
            // The rows are asked for in any case: only what is written down is known to whoever else reads it.
            var unread = new List<string>();
            foreach (var hash in await Rows(some).Select(m => m.Sha256).ToListAsync(cancellationToken))
                if (remembered?.Of(hash) is { } facts)
                    known[hash] = facts;
                else
                    unread.Add(hash);
            if (unread.Count == 0)
                continue;
            foreach (var row in await Rows(unread).ToListAsync(cancellationToken))
                Remember(row.Sha256, known[row.Sha256] = JsonSerializer.Deserialize<RecordingFacts>(row.Facts)!);
        }
        return known;

        IQueryable<Measurement> Rows(IReadOnlyCollection<string> of) =>
            db.Measurements.AsNoTracking().Where(m => of.Contains(m.Sha256) && m.Generation == RecordingFacts.CurrentGeneration);
    }

    private void Remember(string hash, RecordingFacts facts) => remembered?.Keep(hash, facts);

    /// <summary>
    /// On threads of their own: measuring goes on for long without a pause, and the pool has no more threads than cores at first. One busy with a request
    /// would leave a few recordings to one core, and many recordings would leave requests no thread.
    /// </summary>
    private async Task MeasureAllAsync(
        List<string> hashes, ChannelWriter<(string Hash, RecordingFacts Facts)> to, CancellationToken cancellationToken)
    {
        var taken = -1;
        try
        {
            await Task.WhenAll(Enumerable.Range(0, Math.Min(AtOnce, hashes.Count)).Select(_ =>
                Task.Factory.StartNew(MeasureSome, cancellationToken, TaskCreationOptions.LongRunning, TaskScheduler.Default)));
            to.Complete();
        }
        catch (Exception fault)
        {
            // The reader throws it on, after what was measured before.
            to.Complete(fault);
        }

        void MeasureSome()
        {
            try
            {
                for (int i; (i = Interlocked.Increment(ref taken)) < hashes.Count;)
                {
                    cancellationToken.ThrowIfCancellationRequested();
                    var one = (hashes[i], MeasureOne(hashes[i], cancellationToken));
                    if (!to.TryWrite(one))
                        to.WriteAsync(one, cancellationToken).AsTask().GetAwaiter().GetResult();
                }
            }
            catch
            {
                // The others need not go on.
                Interlocked.Exchange(ref taken, hashes.Count);
                throw;
            }
        }
    }

    private RecordingFacts MeasureOne(string hash, CancellationToken cancellationToken)
    {
        using var stream = blobs.Open(hash);
        return RecordingReader.Read(stream, cancellationToken: cancellationToken);
    }

    private async Task<bool> CollectAsync(
        ChannelReader<(string Hash, RecordingFacts Facts)> from, Dictionary<string, RecordingFacts> facts,
        Func<int, CancellationToken, Task<bool>> goesOn, CancellationToken cancellationToken)
    {
        var batch = new List<(string Hash, RecordingFacts Facts)>();
        var writtenAt = 0L;
        await foreach (var one in from.ReadAllAsync(cancellationToken))
        {
            facts[one.Hash] = one.Facts;
            Remember(one.Hash, one.Facts);
            batch.Add(one);
            if (batch.Count < Batch && writtenAt != 0 && clock.GetElapsedTime(writtenAt) < Pause)
                continue;
            await WriteAsync(batch, cancellationToken);
            if (!await goesOn(facts.Count, cancellationToken))
                return false;
            batch.Clear();
            writtenAt = clock.GetTimestamp();
        }
        await WriteAsync(batch, cancellationToken);
        return await goesOn(facts.Count, cancellationToken);
    }

    /// <summary>Another check may measure the same bytes at the same moment: looked at again, its rows are found.</summary>
    private Task WriteAsync(List<(string Hash, RecordingFacts Facts)> batch, CancellationToken cancellationToken) =>
        batch.Count == 0 ? Task.CompletedTask : FreshEyes.LookAsync(db, () => WriteOnceAsync(batch, cancellationToken), FreshEyes.Never<int>);

    private async Task<int> WriteOnceAsync(List<(string Hash, RecordingFacts Facts)> batch, CancellationToken cancellationToken)
    {
        var hashes = batch.ConvertAll(b => b.Hash);
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var standing = await db.Measurements.Where(m => hashes.Contains(m.Sha256)).ToDictionaryAsync(m => m.Sha256, StringComparer.Ordinal, cancellationToken);
        foreach (var (hash, facts) in batch)
        {
            if (!standing.TryGetValue(hash, out var row))
                db.Measurements.Add(row = new Measurement { Sha256 = hash });
            (row.Generation, row.Facts, row.MeasuredAt) = (RecordingFacts.CurrentGeneration, JsonSerializer.Serialize(facts), now);
        }
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        db.ChangeTracker.Clear();
        return batch.Count;
    }
}

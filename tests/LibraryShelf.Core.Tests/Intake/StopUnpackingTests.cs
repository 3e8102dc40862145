using System.IO.Compression;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>How far an unpacking is, and that its maker can stop it: the draft is as it was.</summary>
public sealed class StopUnpackingTests : IDisposable
{
    private static readonly (string Path, byte[] Bytes)[] Four =
        [("a.wav", Bytes("the kettle, low")), ("b.wav", Bytes("the kettle")), ("c.wav", Bytes("the lid")), ("d.wav", Bytes("the lid, hard"))];

    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task Files_and_bytes_are_told_while_it_runs_and_nothing_of_it_is_left_when_it_ends()
    {
        var id = await ZipAsync();
        var seen = new List<(int, int, long, long)>();
        // The files and bytes of those before it, when each is stored.
        bench.Store = new TellingStore(bench.Store, async () =>
        {
            await using var db = bench.Db();
            seen.AddRange((await db.WorkProgress.ToListAsync()).Select(p => (p.Done, p.Total, p.DoneBytes, p.TotalBytes)));
            bench.Clock.Advance(TimeSpan.FromSeconds(1));
        });
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(id));
        var all = Four.Sum(f => (long)f.Bytes.Length);
        Assert.Equal(Enumerable.Range(0, 4).Select(i => (i, 4, Four.Take(i).Sum(f => (long)f.Bytes.Length), all)).First(), seen[0]);
        Assert.Equal(4, seen.Count);
        Assert.True(seen.Zip(seen.Skip(1), (a, b) => a.Item1 <= b.Item1 && a.Item3 < b.Item3).All(x => x), string.Join(' ', seen));
        await using var after = bench.Db();
        Assert.Empty(await after.WorkProgress.ToListAsync());
    }

    [Fact]
    public async Task Stopped_while_it_runs_the_draft_is_as_it_was_and_what_was_unpacked_is_not_sent_again()
    {
        await bench.SendAsync("old.wav", Bytes("old"));
        var (before, id) = (await bench.DraftAsync(), await ZipAsync());
        var stored = 0;
        bench.Store = new TellingStore(bench.Store, async () =>
        {
            bench.Clock.Advance(TimeSpan.FromSeconds(1));
            if (++stored == 3)
                Assert.Equal([id], Assert.IsType<StopUnpackingOutcome.Stopped>(await StopAsync()).UploadIds);
        });
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Assert.Equal(3, stored);
        Assert.Equal(before, await bench.DraftAsync());
        var words = (await bench.ReleaseAsync()).Trouble;
        Assert.StartsWith("You stopped the unpacking of kettle.zip at ", words, StringComparison.Ordinal);
        Assert.Contains(" of 4 files. The draft is as it was", words, StringComparison.Ordinal);

        // Again and again it is nothing but stopped, and its bytes can go.
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Assert.IsType<StopUnpackingOutcome.NotRunning>(await StopAsync());
        await using var db = bench.Db();
        await new ClearUpload(db, bench.Desk).RunAsync(id, CancellationToken.None);
        Assert.False(bench.Desk.HasBytes(id));
        Assert.Empty(await db.WorkProgress.ToListAsync());

        var wanted = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync([.. Four.Select(f => Line(f.Path, f.Bytes))])).Wanted;
        Assert.Equal(["c.wav", "d.wav"], wanted.Select(w => w.Path));
    }

    [Fact]
    public async Task Stopped_at_the_very_end_it_is_stopped_and_unpacked_it_is_not_stopped_any_more()
    {
        var id = await ZipAsync();
        var stored = 0;
        // The clock stands, so nobody looks before the last transaction does.
        bench.Store = new TellingStore(bench.Store, async () =>
        {
            if (++stored == 4)
                await StopAsync();
        });
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Assert.Empty(await bench.ManifestAsync());

        var next = await ZipAsync();
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(next));
        Assert.IsType<StopUnpackingOutcome.NotRunning>(await StopAsync());
        Assert.Equal(4, (await bench.ManifestAsync()).Count);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task Stopped_while_it_comes_to_grief_it_is_stopped_and_says_so(bool isDiskFull)
    {
        var id = await ZipAsync();
        bench.Store = new TellingStore(bench.Store, async () =>
        {
            await StopAsync();
            // ENOSPC (errno.h), or what a damaged file in a zip throws.
            throw isDiskFull ? new IOException("No space left on device", 28) : new InvalidDataException();
        });
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        await using var db = bench.Db();
        var words = (await db.Uploads.SingleAsync(u => u.Id == id)).Trouble;
        Assert.StartsWith("You stopped the unpacking of kettle.zip", words, StringComparison.Ordinal);
        Assert.Equal(words, (await bench.ReleaseAsync()).Trouble);
    }

    /// <summary>SQLite lets nobody read what is about to be written over; there the one who waits reads only then.</summary>
    [Fact]
    [Trait("Database", "postgres")]
    public async Task Stopped_while_the_words_of_a_full_disk_wait_for_their_turn_it_says_that_it_was_stopped()
    {
        var id = await ZipAsync();
        var stopping = Task.CompletedTask;
        await using var other = bench.Db();
        bench.Store = new TellingStore(bench.Store, async () =>
        {
            // As StopUnpacking writes, up to its last word.
            var transaction = await other.Database.BeginTransactionAsync();
            await other.Uploads.Where(u => u.Id == id).ExecuteUpdateAsync(s => s.SetProperty(u => u.Trouble, "Stopped."));
            await other.Releases.Where(r => r.Id == bench.ReleaseId).ExecuteUpdateAsync(s => s.SetProperty(r => r.Trouble, "Stopped."));
            stopping = Task.Run(async () =>
            {
                await using var db = bench.Db();
                while (await db.Database.SqlQuery<int>(
                    $"""SELECT count(*)::int AS "Value" FROM pg_locks l JOIN pg_database d ON d.oid = l.database WHERE l.locktype = 'advisory' AND NOT l.granted AND d.datname = current_database()""").SingleAsync() == 0)
                    await Task.Yield();
                await transaction.CommitAsync();
            });
            throw new IOException("No space left on device", 28);
        });
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        await stopping;
        Assert.Equal("Stopped.", (await bench.ReleaseAsync()).Trouble);
    }

    [Fact]
    public async Task One_that_waits_is_stopped_before_it_begins()
    {
        var id = await ZipAsync();
        Assert.IsType<StopUnpackingOutcome.Stopped>(await StopAsync());
        Assert.StartsWith("You stopped the unpacking of kettle.zip. ", (await bench.ReleaseAsync()).Trouble, StringComparison.Ordinal);
        Assert.True((await bench.ReleaseAsync()).WasStopped);
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        await using var db = bench.Db();
        Assert.IsType<StopUnpackingOutcome.NoSuchRelease>(await new StopUnpacking(db).RunAsync(long.MaxValue, CancellationToken.None));
    }

    private async Task<StopUnpackingOutcome> StopAsync()
    {
        await using var db = bench.Db();
        return await new StopUnpacking(db).RunAsync(bench.ReleaseId, CancellationToken.None);
    }

    private async Task<string> ZipAsync()
    {
        using var bytes = new MemoryStream();
        using (var zip = new ZipArchive(bytes, ZipArchiveMode.Create, leaveOpen: true))
            foreach (var (path, content) in Four)
            {
                using var stream = zip.CreateEntry(path).Open();
                stream.Write(content);
            }
        var id = await bench.StartedAsync("kettle.zip", bytes.Length, null, UploadKind.Zip);
        await bench.AppendAsync(id, 0, bytes.ToArray());
        return id;
    }

    /// <summary>Says so before each file is stored.</summary>
    private sealed class TellingStore(IBlobStore inner, Func<Task> told) : IBlobStore
    {
        public async Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken)
        {
            await told();
            return await inner.PutAsync(content, cancellationToken);
        }

        public Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken) => inner.AdoptAsync(filePath, bytes, cancellationToken);

        public Stream Open(string sha256) => inner.Open(sha256);

        public bool Has(string sha256) => inner.Has(sha256);

        public string? LocalPath(string sha256) => inner.LocalPath(sha256);

        public IEnumerable<string> UntouchedSince(DateTimeOffset before) => inner.UntouchedSince(before);

        public bool Remove(string sha256, DateTimeOffset before) => inner.Remove(sha256, before);

        public void ClearUnfinished(DateTimeOffset before) => inner.ClearUnfinished(before);
    }
}

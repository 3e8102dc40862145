using System.Security.Cryptography;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class DigestArchiveTests
{
    [Fact]
    public async Task The_digest_is_the_sha256_of_the_bytes_a_download_gets()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", new string('a', 300_000)), ("b.wav", ""));
        var archive = await bench.SealedAsync(id);
        var digested = Assert.IsType<DigestArchiveOutcome.Digested>(await DigestAsync(bench, archive.Id));

        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(await SealReleaseTests.BytesAsync(bench, archive))), digested.Sha256);
        Assert.Equal(digested.Sha256, (await bench.ArchiveAsync(id)).Sha256);
        Assert.IsType<DigestArchiveOutcome.NothingToDo>(await DigestAsync(bench, archive.Id));
    }

    [Theory]
    [InlineData("abd")]
    [InlineData("ab")]
    [InlineData(null)]
    public async Task A_blob_that_was_altered_cut_or_lost_is_found_and_said(string? instead)
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "abc"));
        var archive = await bench.SealedAsync(id);
        await SpoilAsync(bench, instead);

        var damaged = Assert.IsType<DigestArchiveOutcome.Damaged>(await DigestAsync(bench, archive.Id));
        Assert.Contains("Mended Kettle 1.0.0.zip", damaged.Reason, StringComparison.Ordinal);
        var row = await bench.ArchiveAsync(id);
        Assert.Equal((null, damaged.Reason), (row.Sha256, row.Trouble));
    }

    [Fact]
    public async Task A_store_that_can_not_be_read_just_now_is_said_without_its_paths_and_read_again_when_asked()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "abc"));
        var archive = await bench.SealedAsync(id);
        await using var db = bench.Shelf.Open();
        Assert.False(await new AskForDigest(db, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
        foreach (var fault in new Exception[] { new IOException("/var/lib/x: i/o error"), new UnauthorizedAccessException("/var/lib/x: denied") })
        {
            var damaged = Assert.IsType<DigestArchiveOutcome.Damaged>(
                await new DigestArchive(db, new FeignedStore(_ => throw fault), TimeProvider.System).RunAsync(archive.Id, CancellationToken.None));
            Assert.Same(fault, damaged.Fault);
            Assert.DoesNotContain("/var", damaged.Reason, StringComparison.Ordinal);
            Assert.Equal(damaged.Reason, (await bench.ArchiveAsync(id)).Trouble);
        }
        Assert.False((await bench.ArchiveAsync(id)).IsToBeRead);
        Assert.True(await new AskForDigest(db, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
        Assert.False(await new AskForDigest(db, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
        // What was found stands until it is read: nothing damaged is published meanwhile, nor when she stops it.
        var asked = await bench.ArchiveAsync(id);
        Assert.True(asked.IsToBeRead);
        Assert.NotNull(asked.Trouble);
        Assert.True(await StopAsync(bench, archive.Id));
        Assert.False(await StopAsync(bench, archive.Id));
        Assert.Equal(new DigestArchiveOutcome.NotWanted(asked.Trouble), await DigestAsync(bench, archive.Id));
        Assert.Equal(PublishReleaseOutcome.ArchiveDamaged, await new PublishRelease(db, bench.Shelf.Clock).RunAsync(id, Audience.Free, declares: true, null, CancellationToken.None));
        Assert.True(await new AskForDigest(db, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
        Assert.IsType<DigestArchiveOutcome.Digested>(await DigestAsync(bench, archive.Id));
        var read = await bench.ArchiveAsync(id);
        Assert.Equal((null, null, null), (read.Trouble, read.ReadAskedAt, read.ReadStoppedAt));
        Assert.False(await StopAsync(bench, archive.Id));
        Assert.False(await StopAsync(bench, archive.Id + 1));
    }

    [Fact]
    public async Task Stopped_in_the_midst_of_a_file_it_ends_there_and_is_begun_again_only_when_asked()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", new string('a', 300_000)), ("b.wav", new string('b', 200_000)));
        var archive = await bench.SealedAsync(id);
        await using (var db = bench.Shelf.Open())
        {
            // A file that never ends.
            var endless = new FeignedStore(sha256 => sha256 == archive.RecipeSha256 ? bench.Store.Open(sha256) : new EndlessStream());
            var reading = Task.Run(() => new DigestArchive(db, endless, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
            var row = HowFarBench.WaitForRow(bench);
            Assert.Equal((ProgressNotes.Digest(archive.Id), archive.Length), (row.Name, row.TotalBytes));
            Assert.True(await StopAsync(bench, archive.Id));
            HowFarBench.WaitFor(bench, () => reading.IsCompleted);
            Assert.Equal(new DigestArchiveOutcome.NotWanted(null), await reading);
        }
        await using var after = bench.Shelf.Open();
        Assert.Empty(await after.WorkProgress.ToListAsync());
        var standing = (await new ReadSealing(after, bench.Shelf.Clock).RunAsync(id, CancellationToken.None))!;
        Assert.Equal((null, bench.Shelf.Clock.GetUtcNow().Date), (standing.Reading, standing.Archive!.ReadStoppedAt!.Value.Date));
        Assert.IsType<DigestArchiveOutcome.NotWanted>(await DigestAsync(bench, archive.Id));
        Assert.Null((await bench.ArchiveAsync(id)).Sha256);
        Assert.True(await new AskForDigest(after, bench.Shelf.Clock).RunAsync(archive.Id, CancellationToken.None));
        Assert.IsType<DigestArchiveOutcome.Digested>(await DigestAsync(bench, archive.Id));
    }

    private static async Task<bool> StopAsync(SealBench bench, long archiveId)
    {
        await using var db = bench.Shelf.Open();
        return await new StopReading(db, bench.Shelf.Clock).RunAsync(archiveId, CancellationToken.None);
    }

    /// <summary>A disk that takes for ever, and whoever reads from it gives up.</summary>
    private sealed class EndlessStream : MemoryStream
    {
        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
        {
            await Task.Delay(Timeout.Infinite, cancellationToken);
            return 0;
        }
    }

    private sealed class FeignedStore(Func<string, Stream> open) : Core.Storage.IBlobStore
    {
        public Task<Core.Storage.StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Task AdoptAsync(string filePath, Core.Storage.StoredBytes bytes, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Stream Open(string sha256) => open(sha256);

        public bool Has(string sha256) => true;

        public string? LocalPath(string sha256) => null;

        public IEnumerable<string> UntouchedSince(DateTimeOffset before) => throw new NotSupportedException();

        public bool Remove(string sha256, DateTimeOffset before) => throw new NotSupportedException();

        public void ClearUnfinished(DateTimeOffset before) => throw new NotSupportedException();
    }

    private static async Task SpoilAsync(SealBench bench, string? instead)
    {
        await using var db = bench.Shelf.Open();
        var file = new FileInfo(bench.Store.LocalPath(await db.ReleaseFiles.Select(f => f.Sha256).SingleAsync())!) { IsReadOnly = false };
        file.Delete();
        if (instead is not null)
            await File.WriteAllTextAsync(file.FullName, instead);
    }

    private static async Task<DigestArchiveOutcome> DigestAsync(SealBench bench, long archiveId)
    {
        await using var db = bench.Shelf.Open();
        return await new DigestArchive(db, bench.Store, TimeProvider.System).RunAsync(archiveId, CancellationToken.None);
    }
}

using System.Security.Cryptography;
using LibraryShelf.Core.Sealing;
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
        Assert.Null(await new AskForDigest(db).RunAsync(id, CancellationToken.None));
        foreach (var fault in new Exception[] { new IOException("/var/lib/x: i/o error"), new UnauthorizedAccessException("/var/lib/x: denied") })
        {
            var damaged = Assert.IsType<DigestArchiveOutcome.Damaged>(
                await new DigestArchive(db, new UnreadableStore(fault), TimeProvider.System).RunAsync(archive.Id, CancellationToken.None));
            Assert.Same(fault, damaged.Fault);
            Assert.DoesNotContain("/var", damaged.Reason, StringComparison.Ordinal);
            Assert.Equal(damaged.Reason, (await bench.ArchiveAsync(id)).Trouble);
        }
        Assert.Equal(archive.Id, await new AskForDigest(db).RunAsync(id, CancellationToken.None));
        Assert.Null((await bench.ArchiveAsync(id)).Trouble);
        Assert.IsType<DigestArchiveOutcome.Digested>(await DigestAsync(bench, archive.Id));
    }

    private sealed class UnreadableStore(Exception fault) : Core.Storage.IBlobStore
    {
        public Task<Core.Storage.StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Task AdoptAsync(string filePath, Core.Storage.StoredBytes bytes, CancellationToken cancellationToken) => throw new NotSupportedException();

        public Stream Open(string sha256) => throw fault;

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

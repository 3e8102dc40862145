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
        return await new DigestArchive(db, bench.Store).RunAsync(archiveId, CancellationToken.None);
    }
}

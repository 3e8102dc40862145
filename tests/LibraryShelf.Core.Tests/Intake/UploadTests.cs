using System.Security.Cryptography;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

public sealed class UploadTests : IDisposable
{
    private static readonly byte[] Data = [.. Enumerable.Range(0, 300_000).Select(i => (byte)(i * 31 >> 3))];
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task The_last_byte_brings_the_file_into_the_store_and_the_draft()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        Assert.Equal(new UploadOutcome.Open(100_000, Data.Length), await bench.AppendAsync(id, 0, Data[..100_000]));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 100_000, Data[100_000..]));
        Assert.Equal(Hash(Data), (await bench.ManifestAsync())["a.wav"]);
        await using var db = bench.Db();
        var blob = await db.Blobs.SingleAsync();
        Assert.Equal((Hash(Data), (long)Data.Length, System.IO.Hashing.Crc32.HashToUInt32(Data)), (blob.Sha256, blob.Size, blob.Crc32));
        Assert.Equal(Hash(Data), (await db.BlobClaims.SingleAsync()).Sha256);
        Assert.True(bench.Store.Has(Hash(Data)));
        Assert.False(bench.Desk.HasBytes(id));
    }

    [Fact]
    public async Task Nothing_of_the_draft_changes_before_the_last_byte()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length);
        await bench.AppendAsync(id, 0, Data[..^1]);
        Assert.Empty(await bench.ManifestAsync());
        await using var db = bench.Db();
        Assert.Empty(await db.Blobs.ToListAsync());
    }

    [Fact]
    public async Task A_restart_between_pieces_re_reads_what_is_there()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        await bench.AppendAsync(id, 0, Data[..70_001]);
        bench.Restart();
        Assert.Equal(new UploadOutcome.Open(70_001, Data.Length), await bench.ReadAsync(id));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 70_001, Data[70_001..]));
    }

    [Fact]
    public async Task Killed_after_the_last_byte_it_is_finished_by_the_next_question()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        await File.WriteAllBytesAsync(Path.Combine(bench.Paths.Uploads, id), Data);
        Assert.IsType<UploadOutcome.Finished>(await bench.ReadAsync(id));
        Assert.Equal(Hash(Data), (await bench.ManifestAsync())["a.wav"]);
    }

    [Fact]
    public async Task Killed_between_the_store_and_the_commit_it_is_finished_by_the_next_question()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        await bench.Store.PutAsync(new MemoryStream(Data), CancellationToken.None);
        Assert.IsType<UploadOutcome.Finished>(await bench.ReadAsync(id));
        await using var db = bench.Db();
        Assert.Equal(System.IO.Hashing.Crc32.HashToUInt32(Data), (await db.Blobs.SingleAsync()).Crc32);
    }

    [Fact]
    public async Task Killed_there_with_an_unknown_hash_it_is_sent_again_from_the_start()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length);
        await bench.Store.PutAsync(new MemoryStream(Data), CancellationToken.None);
        Assert.Equal(new UploadOutcome.Open(0, Data.Length), await bench.ReadAsync(id));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, Data));
    }

    [Fact]
    public async Task Asking_and_sending_nothing_after_the_end_changes_nothing()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length);
        await bench.AppendAsync(id, 0, Data);
        Assert.IsType<UploadOutcome.Finished>(await bench.ReadAsync(id));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, Data.Length, []));
        await using var db = bench.Db();
        Assert.Single(await db.Blobs.ToListAsync());
    }

    [Fact]
    public async Task Bytes_already_held_may_be_sent_again()
    {
        await bench.SendAsync("a.wav", Data);
        Assert.IsType<UploadOutcome.Finished>(await bench.SendAsync("b.wav", Data));
        Assert.Equal(["a.wav", "b.wav"], (await bench.ManifestAsync()).Keys.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task Other_bytes_than_announced_are_not_kept()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        var altered = Data.ToArray();
        altered[77]++;
        var mismatch = Assert.IsType<UploadOutcome.Mismatch>(await bench.AppendAsync(id, 0, altered));
        Assert.Contains("a.wav", mismatch.Message, StringComparison.Ordinal);
        Assert.False(bench.Desk.HasBytes(id));
        Assert.False(bench.Store.Has(Hash(altered)));
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.ReadAsync(id));
    }

    [Fact]
    public async Task A_wrong_offset_takes_nothing()
    {
        var id = await bench.StartedAsync("a.wav", 100);
        await bench.AppendAsync(id, 0, Data[..70]);
        Assert.Equal(new UploadOutcome.WrongOffset(70), await bench.AppendAsync(id, 69, Data[69..100]));
        Assert.Equal(new UploadOutcome.WrongOffset(70), await bench.AppendAsync(id, 71, Data[71..100]));
        Assert.Equal(new UploadOutcome.Open(70, 100), await bench.ReadAsync(id));
    }

    [Fact]
    public async Task More_bytes_than_announced_are_not_taken()
    {
        var id = await bench.StartedAsync("a.wav", 100);
        Assert.Equal(new UploadOutcome.TooLong(100, 100), await bench.AppendAsync(id, 0, Data[..101]));
        Assert.Equal(100, bench.Desk.OffsetOf(id));
    }

    [Fact]
    public async Task A_cut_keeps_what_came_before_it()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        await using var cut = new CutStream(Data, 123_456);
        await Assert.ThrowsAsync<IOException>(() => bench.AppendAsync(id, 0, cut));
        Assert.Equal(new UploadOutcome.Open(123_456, Data.Length), await bench.ReadAsync(id));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 123_456, Data[123_456..]));
    }

    [Fact]
    public async Task Only_one_writes_at_a_time()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length);
        using (bench.Desk.TryTake(id))
            Assert.IsType<UploadOutcome.Busy>(await bench.AppendAsync(id, 0, Data));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, Data));
    }

    [Fact]
    public async Task A_piece_with_a_wrong_checksum_is_dropped()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length, Hash(Data));
        await bench.AppendAsync(id, 0, Data[..10]);
        var wrong = new PieceChecksum(HashAlgorithmName.SHA256, SHA256.HashData(Data));
        Assert.Equal(new UploadOutcome.BadChecksum(10), await bench.AppendAsync(id, 10, new MemoryStream(Data[10..20]), wrong));
        var right = new PieceChecksum(HashAlgorithmName.SHA256, SHA256.HashData(Data[10..]));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 10, new MemoryStream(Data[10..]), right));
    }

    [Fact]
    public async Task An_empty_file_is_finished_at_once()
    {
        var id = await bench.StartedAsync("empty.txt", 0);
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, []));
        // SHA-256 of nothing (NIST's short-message vectors, Len = 0).
        Assert.Equal("e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", (await bench.ManifestAsync())["empty.txt"]);
    }

    [Fact]
    public async Task Sealed_meanwhile_the_upload_is_dropped_and_the_manifest_stays()
    {
        var id = await bench.StartedAsync("a.wav", Data.Length);
        await bench.AppendAsync(id, 0, Data[..10]);
        await bench.SetStateAsync(ReleaseState.Checked, ReleaseState.Sealed);
        Assert.IsType<UploadOutcome.Closed>(await bench.AppendAsync(id, 10, Data[10..]));
        Assert.Empty(await bench.ManifestAsync());
        Assert.IsType<StartUploadOutcome.Closed>(await bench.StartAsync("b.wav", 1));
    }

    [Theory]
    [InlineData("../shelf.db")]
    [InlineData("AAAAAAAAAAAAAAAAAAAAA/")]
    [InlineData("")]
    public async Task Nothing_but_an_id_becomes_a_path(string id)
    {
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.ReadAsync(id));
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.AppendAsync(id, 0, Data));
        Assert.Throws<ArgumentException>(() => bench.Desk.OffsetOf(id));
        Assert.Throws<ArgumentException>(() => bench.Desk.DeleteBytes(id));
        Assert.Throws<ArgumentException>(() => bench.Desk.TryTake(id));
    }

    [Fact]
    public async Task Limits_are_said_before_a_byte_is_sent()
    {
        bench.Settings.Intake.MaxUploadBytes = 1024;
        bench.Settings.Intake.MaxReleaseBytes = 1500;
        Assert.IsType<StartUploadOutcome.TooLarge>(await bench.StartAsync("a.wav", 1025));
        await bench.SendAsync("a.wav", Data[..1000]);
        Assert.IsType<StartUploadOutcome.TooLarge>(await bench.StartAsync("b.wav", 501));
        Assert.IsType<StartUploadOutcome.Started>(await bench.StartAsync("b.wav", 500));
        Assert.IsType<StartUploadOutcome.Started>(await bench.StartAsync("a.wav", 1024));
    }

    [Fact]
    public async Task Forgotten_uploads_are_swept_after_a_week()
    {
        var id = await bench.StartedAsync("a.wav", 100);
        await bench.AppendAsync(id, 0, Data[..70]);
        File.SetLastWriteTimeUtc(Path.Combine(bench.Paths.Uploads, id), bench.Clock.GetUtcNow().UtcDateTime);
        bench.Clock.Advance(TimeSpan.FromDays(7));
        Assert.Equal(0, await SweepAsync());
        bench.Clock.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(1, await SweepAsync());
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.ReadAsync(id));
        Assert.False(bench.Desk.HasBytes(id));
    }

    private async Task<int> SweepAsync()
    {
        await using var db = bench.Db();
        return (await new SweepUploads(db, bench.Desk, bench.Clock).RunAsync(CancellationToken.None)).Removed;
    }

    private sealed class CutStream(byte[] bytes, int at) : MemoryStream(bytes, 0, at)
    {
        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default) =>
            Position < Length ? await base.ReadAsync(buffer, cancellationToken) : throw new IOException("cut");
    }
}

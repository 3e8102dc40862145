using System.Text;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Adapters.Tests.Storage;

public sealed class DiskBlobStoreTests : IDisposable
{
    // FIPS 180-4's example "abc"; CRC-32 of "123456789" is the catalogue's check value cbf43926
    // (https://reveng.sourceforge.io/crc-catalogue/17plus.htm, CRC-32/ISO-HDLC).
    private const string AbcSha256 = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    private const uint DigitsCrc32 = 0xcbf43926;

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("blobs-");
    private readonly DiskBlobStore store;

    public DiskBlobStoreTests() => store = new DiskBlobStore(new DataPaths(folder.FullName));

    public void Dispose()
    {
        foreach (var file in folder.EnumerateFiles("*", SearchOption.AllDirectories))
            file.IsReadOnly = false;
        folder.Delete(recursive: true);
    }

    [Fact]
    public async Task Bytes_are_kept_under_their_hash_read_only()
    {
        var stored = await PutAsync("abc");
        Assert.Equal(AbcSha256, stored.Sha256);
        Assert.Equal(3, stored.Size);
        var file = new FileInfo(Path.Combine(folder.FullName, "blobs", "ba", "78", AbcSha256));
        Assert.True(file is { Exists: true, IsReadOnly: true, Length: 3 });
        Assert.Equal("abc", await ReadAsync(AbcSha256));
    }

    [Fact]
    public async Task The_same_pass_computes_the_crc() => Assert.Equal(DigitsCrc32, (await PutAsync("123456789")).Crc32);

    [Fact]
    public async Task Equal_bytes_are_stored_once_and_leave_no_temporary_file()
    {
        await PutAsync("abc");
        await PutAsync("abc");
        Assert.Single(folder.EnumerateFiles("*", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task A_source_that_breaks_off_leaves_nothing()
    {
        await using var broken = new BreakingStream(new byte[200_000]);
        await Assert.ThrowsAsync<IOException>(() => store.PutAsync(broken, CancellationToken.None));
        Assert.Empty(folder.EnumerateFiles("*", SearchOption.AllDirectories));
    }

    [Fact]
    public async Task Adopting_moves_the_file()
    {
        var file = Path.Combine(folder.FullName, "finished");
        await File.WriteAllTextAsync(file, "abc");
        await store.AdoptAsync(file, new StoredBytes(AbcSha256, 0x352441c2, 3), CancellationToken.None);
        Assert.False(File.Exists(file));
        Assert.Equal("abc", await ReadAsync(AbcSha256));
    }

    [Fact]
    public async Task Adopting_a_file_of_another_length_is_a_fault()
    {
        var file = Path.Combine(folder.FullName, "finished");
        await File.WriteAllTextAsync(file, "abcd");
        await Assert.ThrowsAsync<IOException>(() => store.AdoptAsync(file, new StoredBytes(AbcSha256, 0, 3), CancellationToken.None));
        Assert.False(store.Has(AbcSha256));
    }

    [Fact]
    public async Task The_torn_remains_of_a_power_cut_are_replaced()
    {
        var target = Path.Combine(folder.FullName, "blobs", "ba", "78", AbcSha256);
        Directory.CreateDirectory(Path.GetDirectoryName(target)!);
        await File.WriteAllTextAsync(target, "");
        File.SetAttributes(target, FileAttributes.ReadOnly);
        await PutAsync("abc");
        Assert.Equal("abc", await ReadAsync(AbcSha256));
    }

    [Theory]
    [InlineData("")]
    [InlineData("../../../etc/passwd")]
    [InlineData("BA7816BF8F01CFEA414140DE5DAE2223B00361A396177A9CB410FF61F20015AD")]
    [InlineData("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015a")]
    [InlineData("../7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")]
    public async Task Nothing_but_a_hash_becomes_a_path(string text)
    {
        Assert.Throws<ArgumentException>(() => store.Has(text));
        Assert.Throws<ArgumentException>(() => store.Open(text));
        Assert.Throws<ArgumentException>(() => store.LocalPath(text));
        var file = Path.Combine(folder.FullName, "finished");
        await File.WriteAllTextAsync(file, "abc");
        await Assert.ThrowsAsync<ArgumentException>(() => store.AdoptAsync(file, new StoredBytes(text, 0, 3), CancellationToken.None));
    }

    private Task<StoredBytes> PutAsync(string text) => store.PutAsync(new MemoryStream(Encoding.UTF8.GetBytes(text)), CancellationToken.None);

    private async Task<string> ReadAsync(string hash)
    {
        using var reader = new StreamReader(store.Open(hash));
        return await reader.ReadToEndAsync();
    }

    /// <summary>Gives its bytes and then breaks, as a full disk or a cut line does.</summary>
    private sealed class BreakingStream(byte[] bytes) : MemoryStream(bytes)
    {
        public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default) =>
            Position < Length ? await base.ReadAsync(buffer, cancellationToken) : throw new IOException("broken off");
    }
}

using System.Security.Cryptography;
using LibraryShelf.Cli.Check;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Check;

public sealed class HashedReadingTests
{
    /// <summary>However little of the file was asked for, the hash is of all of it; each byte is read and told once.</summary>
    [Theory]
    [InlineData(0, 0)]
    [InlineData(1, 1)]
    [InlineData(1_000_000, 0)]
    [InlineData(1_000_000, 12)]
    [InlineData(1_000_000, 131_072)]
    [InlineData(1_000_000, 1_000_000)]
    public void The_hash_is_of_the_whole_file(int length, int asked)
    {
        using var temporary = new TemporaryFolder();
        var bytes = new byte[length];
        new Random(length).NextBytes(bytes);
        var file = temporary.File("x.wav");
        File.WriteAllBytes(file, bytes);
        var told = 0L;

        using var reading = new HashedReading(file, count => told += count);
        var got = new byte[asked];
        reading.ReadExactly(got);
        Assert.Equal(bytes[..asked], got);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(bytes)), reading.Finish(CancellationToken.None));
        Assert.Equal(length, told);
    }
}

using CsCheck;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class ArchiveRangeTests
{
    [Fact]
    public async Task Every_range_is_the_slice_of_the_whole()
    {
        var sample = new SampleArchive();
        var layout = new ArchiveLayout(sample.Tiny());
        var whole = await sample.WriteAsync(layout.Recipe);
        Assert.Equal(whole.Length, layout.Length);
        Assert.InRange(whole.Length, 300, 500); // about 100,000 ranges
        var range = new MemoryStream();
        for (var from = 0; from <= whole.Length; from++)
        {
            for (var to = from; to <= whole.Length; to++)
            {
                sample.Read(layout, from, to, range);
                if (!range.GetBuffer().AsSpan(0, (int)range.Length).SequenceEqual(whole.AsSpan(from, to - from)))
                    Assert.Fail($"[{from}, {to}) differs");
            }
        }
    }

    [Fact]
    public void Any_range_of_any_archive_is_the_slice_of_the_whole() =>
        Gen.Select(Gen.Byte.Array[0, 300].Array[0, 12], Gen.Bool.Array[12], Gen.Int[0, int.MaxValue], Gen.Int[0, int.MaxValue])
            .Sample((contents, inline, a, b) =>
            {
                var sample = new SampleArchive();
                var entries = contents.Select((bytes, i) =>
                    inline[i] ? RecipeEntry.FromBytes($"f{i}", bytes) : sample.Blob($"f{i}", bytes));
                var layout = new ArchiveLayout(new Recipe("T", Recipe.Undated, entries));
                var whole = sample.WriteAsync(layout.Recipe).GetAwaiter().GetResult();
                var (x, y) = (a % (whole.Length + 1), b % (whole.Length + 1));
                var (from, to) = (Math.Min(x, y), Math.Max(x, y));
                var range = new MemoryStream();
                ArchiveWriter.WriteAsync(layout, sample.Open, range, from, to, CancellationToken.None).GetAwaiter().GetResult();
                Assert.Equal(layout.Length, whole.Length);
                Assert.True(range.ToArray().AsSpan().SequenceEqual(whole.AsSpan(from, to - from)));
            }, iter: 300, threads: 1);

    [Theory]
    [InlineData(-1, 0)]
    [InlineData(5, 4)]
    [InlineData(0, 100_000)]
    public void A_range_outside_the_archive_is_refused_at_once(long from, long to)
    {
        var layout = new ArchiveLayout(new SampleArchive().Small());
        Assert.Throws<ArgumentOutOfRangeException>(() => layout.Slices(from, to));
    }

    [Fact]
    public async Task A_blob_that_changed_or_shrank_is_noticed_while_writing()
    {
        var sample = new SampleArchive();
        var layout = new ArchiveLayout(new Recipe("T", Recipe.Undated, [sample.Blob("Samples/C4.wav", [1, 2, 3])]));
        async Task<string> WriteWith(byte[] other) => (await Assert.ThrowsAsync<InvalidDataException>(() => ArchiveWriter.WriteAsync(
            layout, _ => new MemoryStream(other), Stream.Null, 0, layout.Length, CancellationToken.None))).Message;
        Assert.Contains("Samples/C4.wav", await WriteWith([1, 2, 4]));
        Assert.Contains("1 bytes shorter", await WriteWith([1, 2]));
    }
}

using CsCheck;
using LibraryShelf.Core.Statistics;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class CoverageTests
{
    [Fact]
    public void It_agrees_with_a_bit_for_each_byte()
    {
        const int length = 60;
        var interval = Gen.Select(Gen.Int[-5, length + 5], Gen.Int[-5, length + 5]);
        interval.Array[0, 40].Sample(intervals =>
        {
            var (coverage, bits) = (new Coverage(length), new bool[length]);
            foreach (var (from, to) in intervals)
            {
                coverage.Add(from, to);
                for (var i = Math.Max(0, from); i < Math.Min(length, to); i++) bits[i] = true;
                if (coverage.Bytes != bits.Count(b => b) || coverage.IsWhole != bits.All(b => b)) return false;
                var read = Coverage.Read(length, coverage.Text);
                if (read.Bytes != coverage.Bytes || read.Text != coverage.Text) return false;
            }
            return true;
        }, iter: 5_000, seed: "0000000000001");
    }

    [Fact]
    public void Every_byte_but_one_is_not_the_whole()
    {
        var coverage = new Coverage(1L << 40);
        coverage.Add(0, 700);
        coverage.Add(701, 1L << 40);
        Assert.False(coverage.IsWhole);
        coverage.Add(700, 701);
        Assert.True(coverage.IsWhole);
    }
}

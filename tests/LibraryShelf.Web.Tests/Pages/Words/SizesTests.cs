using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class SizesTests
{
    // Decimal prefixes: IEC 80000-13 and the SI brochure (k = 10³, M = 10⁶, G = 10⁹). "1.9 GB", "38 MB" and "610 MB" stand in the look's pictures.
    [Theory]
    [InlineData(0, "0 bytes")]
    [InlineData(1, "1 byte")]
    [InlineData(999, "999 bytes")]
    [InlineData(1_000, "1 kB")]
    [InlineData(12_499, "12 kB")]
    [InlineData(999_499, "999 kB")]
    [InlineData(999_500, "1.0 MB")]
    [InlineData(2_400_000, "2.4 MB")]
    [InlineData(9_949_999, "9.9 MB")]
    [InlineData(9_950_000, "10 MB")]
    [InlineData(38_000_000, "38 MB")]
    [InlineData(610_400_000, "610 MB")]
    [InlineData(999_500_000, "1.0 GB")]
    [InlineData(1_900_000_000, "1.9 GB")]
    [InlineData(99_940_000_000, "99.9 GB")]
    [InlineData(99_960_000_000, "100 GB")]
    [InlineData(1_500_000_000_000, "1.5 TB")]
    [InlineData(long.MaxValue, "9223372 TB")]
    public void A_size_reads_in_decimal_units(long bytes, string words) => Assert.Equal(words, Sizes.Of(bytes));

    [Fact]
    public void There_is_no_size_below_nothing() => Assert.Throws<ArgumentOutOfRangeException>(() => Sizes.Of(-1));
}

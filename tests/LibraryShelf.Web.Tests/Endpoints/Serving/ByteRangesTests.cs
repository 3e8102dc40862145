using LibraryShelf.Web.Endpoints.Serving;

namespace LibraryShelf.Web.Tests.Endpoints.Serving;

public sealed class ByteRangesTests
{
    private static string Read(string? field, long length)
    {
        var (verdict, ranges) = ByteRanges.Read(field, length);
        return verdict == RangeVerdict.Some ? string.Join(' ', ranges.Select(r => $"{r.From}-{r.To - 1}")) : verdict.ToString();
    }

    // RFC 9110 (June 2022) §14.1.2, §14.2, §15.3.7; "own" rows apply the same rules to numbers of ours.
    [Theory]
    [InlineData(10000, "bytes=0-499", "0-499")]
    [InlineData(10000, "bytes=500-999", "500-999")]
    [InlineData(10000, "bytes=-500", "9500-9999")]
    [InlineData(10000, "bytes=9500-", "9500-9999")]
    [InlineData(10000, "bytes=0-0,-1", "0-0 9999-9999")]
    [InlineData(10000, "bytes= 0-999, 4500-5499, -1000", "0-999 4500-5499 9000-9999")]
    [InlineData(10000, "bytes=500-600,601-999", "500-999")] // legal but not canonical; joined
    [InlineData(10000, "bytes=500-700,601-999", "500-999")]
    [InlineData(10000, "bytes=9500-20000", "9500-9999")]
    [InlineData(10000, "bytes=-20000", "0-9999")]
    [InlineData(10000, "bytes=10000-", "Unsatisfiable")] // own
    [InlineData(10000, "bytes=-0", "Unsatisfiable")] // own
    [InlineData(10000, "bytes=500-499", "Whole")] // own: invalid, so ignored
    [InlineData(10000, "items=0-1", "Whole")] // own: unknown unit
    [InlineData(0, "bytes=0-", "Unsatisfiable")]
    [InlineData(0, "bytes=-5", "Whole")] // satisfiable on an empty representation: not 416
    [InlineData(47022, "bytes=21010-47021", "21010-47021")] // §15.3.7.1
    [InlineData(47022, "bytes=47022-", "Unsatisfiable")] // §15.5.17
    public void Ranges_of_the_standard(long length, string field, string expected) => Assert.Equal(expected, Read(field, length));

    [Theory] // own
    [InlineData(null, "Whole")]
    [InlineData("", "Whole")]
    [InlineData("bytes", "Whole")]
    [InlineData("bytes=", "Whole")]
    [InlineData("bytes=,", "Whole")]
    [InlineData("bytes=-", "Whole")]
    [InlineData("bytes=a-b", "Whole")]
    [InlineData("bytes=1", "Whole")]
    [InlineData("bytes=1-2-3", "Whole")]
    [InlineData("bytes=--1", "Whole")]
    [InlineData("bytes=+1-2", "Whole")]
    [InlineData("bytes=1 -2", "Whole")]
    [InlineData("bytes=٣-٤", "Whole")] // other scripts' digits
    [InlineData("bytes=0-1,x", "Whole")] // one bad spec spoils the field
    [InlineData("BYTES=0-1", "0-1")] // §14.1: unit names in any case
    [InlineData("bytes=,0-1,\t,5-6,", "0-1 5-6")] // §5.6.1.2: empty list elements
    [InlineData("bytes=20-29,0-9", "20-29 0-9")] // §15.3.7.2: in the order asked for
    [InlineData("bytes=20-29,0-9,10-19", "0-29")] // the third joins the first two
    [InlineData("bytes=0-9,50-59,5-20", "0-20 50-59")]
    [InlineData("bytes=10-20,-0,200-300", "10-20")] // what lies outside is left out
    [InlineData("bytes=0-99999999999999999999999", "0-99")] // beyond 64 bits
    [InlineData("bytes=99999999999999999999999-", "Unsatisfiable")]
    [InlineData("bytes=-99999999999999999999999", "0-99")]
    public void Ranges_as_clients_may_write_them(string? field, string expected) => Assert.Equal(expected, Read(field, 100));

    [Fact]
    public void Sixteen_ranges_are_served_and_seventeen_are_too_many()
    {
        static string Many(int n) => "bytes=" + string.Join(',', Enumerable.Range(0, n).Select(i => $"{i * 10}-{(i * 10) + 1}"));
        Assert.Equal(16, ByteRanges.Read(Many(16), 1000).Ranges.Count);
        Assert.Equal("Unsatisfiable", Read(Many(17), 1000));
    }
}

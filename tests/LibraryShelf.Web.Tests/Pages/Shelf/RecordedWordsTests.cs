using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Pages.Shelf;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

public sealed class RecordedWordsTests
{
    [Theory]
    [InlineData(new[] { 48_000 }, new[] { 24 }, new int[0], new[] { 2 }, "48 kHz, 24 bits, stereo")]
    [InlineData(new[] { 44_100, 96_000 }, new[] { 16, 24 }, new[] { 32 }, new[] { 1, 2 }, "44.1 and 96 kHz, 16 and 24 bits, 32 bits of floating point, mono and stereo")]
    [InlineData(new[] { 22_050, 44_100, 88_200 }, new int[0], new[] { 32 }, new[] { 6 }, "22.05, 44.1 and 88.2 kHz, 32 bits of floating point, 6 channels")]
    public void Each_form_is_said_once(int[] rates, int[] bits, int[] floatBits, int[] channels, string said) =>
        Assert.Equal(said, RecordedWords.Form(new Recorded(rates, bits, floatBits, channels, [], 1)));

    [Theory]
    [InlineData(0.2, "1 s")]
    [InlineData(89.5, "90 s")]
    [InlineData(90, "2 min")]
    [InlineData(3_569, "59 min")]
    [InlineData(3_570, "1 h 0 min")]
    [InlineData(8_040, "2 h 14 min")]
    public void A_length_is_said_as_roughly_as_it_matters(double seconds, string said) =>
        Assert.Equal(said, RecordedWords.Length(new Recorded([48_000], [24], [], [2], [], seconds)));
}

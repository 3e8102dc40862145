using System.Text;
using CsCheck;
using LibraryShelf.Core.Downloads;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class LinkTextTests
{
    private static readonly byte[] Secret = [.. Enumerable.Range(7, 32).Select(i => (byte)i)];
    private static readonly string Recipe = new('c', 64);

    private static DownloadLink Signed(string fileName)
    {
        var link = new DownloadLink("q1w2e3r4t5y6u7i8o9p0AA", fileName, 1_764_075_600, 1_764_162_000, 2, "");
        return link with { Mac = LinkSigner.Sign(Secret, link, 42, Recipe) };
    }

    private static bool Accepts(string text) =>
        LinkText.Read(text) is { } link && LinkSigner.IsGenuine(Secret, link, 42, Recipe);

    [Theory]
    [InlineData("Jam-jar Marimba 2.1.0.zip")]
    [InlineData("Flügel 1.0.0.zip")]
    [InlineData("a/b?c&d=e#f%2Fg+h.zip")]
    [InlineData("塩の部屋 🎹.zip")]
    public void A_written_link_reads_back(string fileName)
    {
        var link = Signed(fileName);
        Assert.Equal(link, LinkText.Read(LinkText.Write(link)));
        Assert.True(Accepts(LinkText.Write(link)));
    }

    [Theory]
    [InlineData("/get/", "/Get/")]
    [InlineData("?", "?&")]
    [InlineData("&key=2", "&key=2&key=2")]
    [InlineData("&key=2", "&key=02")]
    [InlineData("&key=2", "&key=%32")]
    [InlineData("&key=2", "&KEY=2")]
    [InlineData("&key=2", "&key=+2")]
    [InlineData("&key=2", "&key= 2")]
    [InlineData("&key=2", "")]
    [InlineData("&sig=", "&more=1&sig=")]
    [InlineData("&sig=", ";sig=")]
    [InlineData("%20", "+")]
    [InlineData("%20", " ")]
    [InlineData("%C3%BC", "%c3%bc")]
    [InlineData("%C3%BC", "ü")]
    [InlineData("%C3%BC", "u%CC%88")]
    [InlineData(".zip", "%2Ezip")]
    [InlineData("start-by=1764075600&finish-by=1764162000", "finish-by=1764162000&start-by=1764075600")]
    [InlineData("start-by=1764075600", "start-by=01764075600")]
    [InlineData("start-by=1764075600", "start-by=9999999999999999999999")]
    [InlineData("/Fl", "//Fl")]
    [InlineData("/Fl", "/./Fl")]
    public void Any_other_way_of_writing_it_is_refused(string part, string instead)
    {
        var text = LinkText.Write(Signed("Flügel 1.0.0.zip"));
        Assert.Contains(part, text, StringComparison.Ordinal);
        Assert.True(Accepts(text));
        Assert.False(Accepts(text.Replace(part, instead, StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("")]
    [InlineData("/get/")]
    [InlineData("/get/a")]
    [InlineData("/get/a/b?")]
    [InlineData("/get/a/b?&&&")]
    [InlineData("/get/%/%?start-by=1&finish-by=2&key=3&sig=%")]
    public void Shreds_are_no_link(string text) => Assert.Null(LinkText.Read(text));

    [Fact]
    public void Of_thousands_of_altered_links_none_is_accepted()
    {
        var genuine = LinkText.Write(Signed("Flügel & 鍵 1.0.0.zip"));
        var character = Gen.OneOf(Gen.Char[' ', '~'], Gen.Char["üé鍵\0\n\u0301"]);
        var place = Gen.Int[0, genuine.Length - 1];
        var altered = Gen.OneOf(
            Gen.Select(place, character, (i, c) => genuine[..i] + c + genuine[(i + 1)..]),
            Gen.Select(place, character, (i, c) => genuine[..i] + c + genuine[i..]),
            place.Select(i => genuine.Remove(i, 1)),
            place.Select(i => genuine[..i]),
            place.Select(i => genuine[..i] + SwapCase(genuine[i]) + genuine[(i + 1)..]),
            place.Select(i => genuine[..i] + Escape(genuine[i]) + genuine[(i + 1)..]),
            Gen.Select(place, place, (i, j) => genuine[..Math.Min(i, j)] + genuine[Math.Max(i, j)..]),
            Gen.Select(place, character.Array[1, 8], (i, c) => genuine + new string(c)));
        altered.Where(text => text != genuine).Sample(text => !Accepts(text), iter: 20_000, seed: "0000000000001");
    }

    private static char SwapCase(char c) => char.IsUpper(c) ? char.ToLowerInvariant(c) : char.ToUpperInvariant(c);

    private static string Escape(char c) => string.Concat(Encoding.UTF8.GetBytes([c]).Select(b => $"%{b:X2}"));
}

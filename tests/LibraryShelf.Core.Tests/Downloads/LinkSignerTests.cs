using LibraryShelf.Core.Downloads;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class LinkSignerTests
{
    private static readonly byte[] Secret = [.. Enumerable.Range(0, 32).Select(i => (byte)i)];
    private static readonly DownloadLink Link = new("AAAAAAAAAAAAAAAAAAAAAA", "Jam-jar Marimba 2.1.0.zip", 1_764_000_000, 1_764_086_400, 3, "");
    private static readonly string Recipe = new('a', 64);

    // RFC 4231 (December 2005) §4.2 to §4.8, HMAC-SHA-256; case 5 truncated to 128 bits in the RFC.
    [Theory]
    [InlineData("0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b", "4869205468657265", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7")]
    [InlineData("4a656665", "7768617420646f2079612077616e7420666f72206e6f7468696e673f", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843")]
    [InlineData("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "dd*50", "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe")]
    [InlineData("0102030405060708090a0b0c0d0e0f10111213141516171819", "cd*50", "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b")]
    [InlineData("0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c0c", "546573742057697468205472756e636174696f6e", "a3b6167473100ee06e0c796c2955552b")]
    [InlineData("aa*131", "54657374205573696e67204c6172676572205468616e20426c6f636b2d53697a65204b6579202d2048617368204b6579204669727374", "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54")]
    [InlineData("aa*131", "5468697320697320612074657374207573696e672061206c6172676572207468616e20626c6f636b2d73697a65206b657920616e642061206c6172676572207468616e20626c6f636b2d73697a6520646174612e20546865206b6579206e6565647320746f20626520686173686564206265666f7265206265696e6720757365642062792074686520484d414320616c676f726974686d2e", "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2")]
    public void The_signature_is_the_HMAC_of_RFC_4231(string key, string data, string expected) =>
        Assert.StartsWith(expected, Convert.ToHexStringLower(LinkSigner.Mac(Bytes(key), Bytes(data))), StringComparison.Ordinal);

    [Fact]
    public void Every_field_is_signed()
    {
        var genuine = Link with { Mac = LinkSigner.Sign(Secret, Link, 7, Recipe) };
        Assert.True(LinkSigner.IsGenuine(Secret, genuine, 7, Recipe));
        Assert.Equal(43, genuine.Mac.Length);

        Assert.False(LinkSigner.IsGenuine(Secret, genuine, null, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine, 8, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine, 7, new string('b', 64)));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { DownloadId = "AAAAAAAAAAAAAAAAAAAAAB" }, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { FileName = "Jam-jar Marimba 2.1.1.zip" }, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { StartBy = Link.StartBy + 1 }, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { FinishBy = Link.FinishBy + 1 }, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { KeyId = 4 }, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(new byte[32], genuine, 7, Recipe));
        Assert.False(LinkSigner.IsGenuine(Secret, genuine with { Mac = genuine.Mac[..42] }, 7, Recipe));
    }

    [Fact]
    public void What_moves_from_one_field_to_the_next_changes_the_text()
    {
        var texts = new[]
        {
            Text(Link with { FileName = "1.zip" }, 1, Recipe),
            Text(Link with { FileName = "1.zip" }, 11, Recipe),
            Text(Link with { DownloadId = Link.DownloadId + "1" }, null, Recipe),
            Text(Link with { FileName = "a\n5:b" }, null, Recipe),
            Text(Link with { FileName = "a" }, null, Recipe + "\n5:b"),
            Text(Link with { StartBy = 17, FinishBy = 64 }, null, Recipe),
            Text(Link with { StartBy = 1, FinishBy = 764 }, null, Recipe),
        };
        Assert.Equal(texts.Length, texts.Distinct(StringComparer.Ordinal).Count());
    }

    // Reckoned with Python's hmac, hashlib and base64 from the text as the class describes it; a change here breaks links already made.
    [Theory]
    [InlineData(7L, "w1CxkNktcSRZMIZDDRDpffO0C9hUjkgSdfofu1Jns5Q")]
    [InlineData(null, "Z8Yb4CkJHr9IF366SL8dOCJyzxXQZlbnwVN3mujvwcU")]
    public void A_link_is_signed_as_it_always_was(long? personId, string sig) =>
        Assert.Equal(sig, LinkSigner.Sign(Secret, Link with { FileName = "Flügel 鍵 1.0.0.zip" }, personId, Recipe));

    private static string Text(DownloadLink link, long? personId, string recipe) => System.Text.Encoding.UTF8.GetString(LinkSigner.Text(link, personId, recipe));

    /// <summary>Hex; "aa*131" repeats.</summary>
    private static byte[] Bytes(string text)
    {
        var star = text.IndexOf('*', StringComparison.Ordinal);
        return star < 0 ? Convert.FromHexString(text)
            : Convert.FromHexString(string.Concat(Enumerable.Repeat(text[..star], int.Parse(text[(star + 1)..]))));
    }
}

using System.Net.Http.Headers;
using LibraryShelf.Web.Endpoints.Serving;

namespace LibraryShelf.Web.Tests.Endpoints.Serving;

public sealed class ContentDispositionTests
{
    // RFC 8187 (September 2017) §3.2.3 and RFC 6266 (June 2011) §5: the same value, ours with upper-case hex as RFC 3986 §2.1 asks;
    // the others apply §3.2.1's attr-char to names of our own.
    [Theory]
    [InlineData("£ rates", "%C2%A3%20rates")]
    [InlineData("€ rates", "%E2%82%AC%20rates")]
    [InlineData("£ and € rates", "%C2%A3%20and%20%E2%82%AC%20rates")]
    [InlineData("Flügel v1.2.zip", "Fl%C3%BCgel%20v1.2.zip")]
    [InlineData("a\"b;c.zip", "a%22b%3Bc.zip")]
    [InlineData("C# minor+.wav", "C#%20minor+.wav")]
    [InlineData("!#$&+-.^_`|~", "!#$&+-.^_`|~")]
    [InlineData("*'%", "%2A%27%25")]
    public void The_extended_value_is_that_of_RFC_8187(string name, string expected) => Assert.Equal(expected, ContentDisposition.Encode(name));

    [Theory]
    [InlineData("Jam-jar Marimba 2.1.0.zip", "attachment; filename=\"Jam-jar Marimba 2.1.0.zip\"")]
    [InlineData("€ rates", "attachment; filename=\"EURO rates\"; filename*=UTF-8''%E2%82%AC%20rates")] // RFC 6266 §5, third example
    [InlineData("Flügel v1.2.zip", "attachment; filename=\"Flugel v1.2.zip\"; filename*=UTF-8''Fl%C3%BCgel%20v1.2.zip")]
    [InlineData("a\"b;c.zip", "attachment; filename=\"a\\\"b;c.zip\"; filename*=UTF-8''a%22b%3Bc.zip")]
    [InlineData("100%25.zip", "attachment; filename=\"100%25.zip\"; filename*=UTF-8''100%2525.zip")]
    [InlineData("塩 1.0.0.zip", "attachment; filename=\"_ 1.0.0.zip\"; filename*=UTF-8''%E5%A1%A9%201.0.0.zip")]
    [InlineData("🎹.zip", "attachment; filename=\"_.zip\"; filename*=UTF-8''%F0%9F%8E%B9.zip")]
    [InlineData("a\r\nX-Evil: 1.zip", "attachment; filename=\"a__X-Evil: 1.zip\"; filename*=UTF-8''a%0D%0AX-Evil%3A%201.zip")]
    public void A_name_is_given_in_both_forms_where_one_is_not_enough(string name, string expected) =>
        Assert.Equal(expected, ContentDisposition.Attachment(name));

    [Fact]
    public void The_platforms_own_reader_gets_every_name_back()
    {
        var random = new Random(6266);
        const string letters = "abc ABC019äßŁ塩🎹\"\\;,%*'()=é-._~#+";
        var runes = letters.EnumerateRunes().ToArray();
        for (var i = 0; i < 2_000; i++)
        {
            var name = string.Concat(Enumerable.Range(0, random.Next(1, 30)).Select(_ => runes[random.Next(runes.Length)].ToString()));
            var header = ContentDisposition.Attachment(name);
            Assert.True(header.All(c => c is >= ' ' and <= '~'), header);
            var read = ContentDispositionHeaderValue.Parse(header);
            Assert.Equal(name, read.FileNameStar ?? read.FileName!.Trim('"'));
        }
    }
}

using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Tests.Mail;

public sealed class MailHtmlTests
{
    [Fact]
    public void The_page_says_the_text_and_nothing_in_it_is_obeyed()
    {
        var page = MailHtml.Of("S & S", "Hello <b>you</b>,\nsee https://shelf.example/mine?a=1&b=2.\n\nKettle\n------\n- one\n- two \"2\"\n\n> said\n> <script>\n\n-- \nThe Loft\n");
        var body = page[(page.IndexOf("<body", StringComparison.Ordinal))..];
        Assert.StartsWith("<!DOCTYPE html>\n<html lang=\"en\">", page, StringComparison.Ordinal);
        Assert.Contains("<title>S &amp; S</title>", page, StringComparison.Ordinal);
        Assert.Contains("<p>Hello &lt;b&gt;you&lt;/b&gt;,<br>\nsee <a href=\"https://shelf.example/mine?a=1&amp;b=2\">https://shelf.example/mine?a=1&amp;b=2</a>.</p>", body, StringComparison.Ordinal);
        Assert.Contains(">Kettle</h2>\n<ul>\n<li>one</li>\n<li>two &quot;2&quot;</li>\n</ul>", body, StringComparison.Ordinal);
        Assert.Contains(">said<br>\n&lt;script&gt;</blockquote>", body, StringComparison.Ordinal);
        Assert.Contains("<hr", body, StringComparison.Ordinal);
        Assert.EndsWith("<p>The Loft</p>\n</body>\n</html>\n", body, StringComparison.Ordinal);
        // Nothing is fetched: no pictures, no style sheets, no tracking.
        foreach (var fetched in new[] { "<img", "<link", "<script", "url(", "src=" })
            Assert.DoesNotContain(fetched, page, StringComparison.OrdinalIgnoreCase);
    }

    [Theory]
    [InlineData("Struck **softly**, by *hand*.", "Struck softly, by hand.")]
    [InlineData("# Notes\n\n* one\n+ two", "Notes\n\n- one\n- two")]
    [InlineData("[The marsh](https://m.example) and [https://m.example](https://m.example)", "The marsh (https://m.example) and https://m.example")]
    [InlineData("![a heron](heron.png) by the water", "a heron by the water")]
    [InlineData("a_long_name and 2 * 3 * 4", "a_long_name and 2 * 3 * 4")]
    [InlineData("before\n\n---\n\n-- \nafter", "before\n\n\n\n\nafter")] // neither a heading nor a signature
    public void Marks_of_a_page_are_taken_off_a_note(string markdown, string text) => Assert.Equal(text, NoteText.Of(markdown));
}

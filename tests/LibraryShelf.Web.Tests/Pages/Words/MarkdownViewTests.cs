using System.Text.Encodings.Web;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class MarkdownViewTests
{
    [Fact]
    public void Text_lists_and_links_are_shown()
    {
        var html = Html("Two *jars*, **one** lid.\n\n- near\n- room\n\n[how](https://saltmarsh.example/how)");
        Assert.Contains("<em>jars</em>", html, StringComparison.Ordinal);
        Assert.Contains("<strong>one</strong>", html, StringComparison.Ordinal);
        Assert.Contains("<li>near</li>", html, StringComparison.Ordinal);
        Assert.Contains("<a href=\"https://saltmarsh.example/how\">how</a>", html, StringComparison.Ordinal);
    }

    [Fact]
    public void Headings_stay_below_the_pages_own()
    {
        Assert.Contains("<h3>Jars</h3>", Html("# Jars"), StringComparison.Ordinal);
        Assert.Contains("<h4>Lids</h4>", Html("# Jars\n\n## Lids"), StringComparison.Ordinal);
        Assert.Contains("<h6>Lids</h6>", Html("# Jars\n\n###### Lids"), StringComparison.Ordinal);
        Assert.Contains("<h3>Lids</h3>", Html("## Lids"), StringComparison.Ordinal);
        Assert.Contains("<h2>Jars</h2>", MarkdownText("# Jars", 2), StringComparison.Ordinal);
    }

    // The tricks of the OWASP XSS filter evasion cheat sheet that can be written in Markdown or beside it.
    [Theory]
    [InlineData("<script>alert(1)</script>")]
    [InlineData("<img src=x onerror=alert(1)>")]
    [InlineData("<svg/onload=alert(1)>")]
    [InlineData("<style>body{display:none}</style>")]
    [InlineData("<iframe src=\"https://evil.example\"></iframe>")]
    [InlineData("![look](https://evil.example/pixel.png)")]
    [InlineData("[press](javascript:alert(1))")]
    [InlineData("[press](JaVaScRiPt:alert(1))")]
    [InlineData("[press](data:text/html;base64,PHNjcmlwdD4=)")]
    [InlineData("[press](https://saltmarsh.example \"x\\\" onmouseover=alert(1)\")")]
    [InlineData("<a href=\"javascript:alert(1)\" onclick=\"alert(1)\" style=\"color:red\">x</a>")]
    [InlineData("<javascript:alert(1)>")]
    public void Nothing_that_runs_or_calls_out_passes(string markdown)
    {
        var page = new AngleSharp.Html.Parser.HtmlParser().ParseDocument(Html(markdown));
        Assert.Empty(page.QuerySelectorAll("script, img, svg, style, iframe, object, embed, form, input"));
        Assert.DoesNotContain(page.All.SelectMany(e => e.Attributes), a => a.Name is not ("href" or "start"));
        Assert.All(page.QuerySelectorAll("a[href]"), a => Assert.StartsWith("https://", a.GetAttribute("href")!, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(null)]
    [InlineData("")]
    [InlineData("  \n")]
    public void Nothing_is_nothing(string? markdown) => Assert.Equal("", Html(markdown).Trim());

    private static string Html(string? markdown) => MarkdownText(markdown, 3);

    private static string MarkdownText(string? markdown, int topHeading)
    {
        using var writer = new StringWriter();
        MarkdownView.Render(markdown, topHeading).WriteTo(writer, HtmlEncoder.Default);
        return writer.ToString();
    }
}

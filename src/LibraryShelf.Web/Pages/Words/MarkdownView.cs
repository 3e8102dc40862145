using Ganss.Xss;
using Markdig;
using Markdig.Syntax;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>
/// The maker's Markdown as safe HTML: text, lists, links and headings. Raw HTML is shown as text; pictures and scripts never
/// pass. Cleaned twice (Markdig does not parse HTML, the sanitizer lets through only what is listed), because texts also come
/// from uploaded folders.
/// </summary>
internal static class MarkdownView
{
    private static readonly MarkdownPipeline Pipeline = new MarkdownPipelineBuilder().DisableHtml().UseAutoLinks().Build();

    private static readonly HtmlSanitizer Sanitizer = MakeSanitizer();

    /// <summary>The text's highest headings become <paramref name="topHeading"/> (2 to 6), so that the page keeps its own outline.</summary>
    public static IHtmlContent Render(string? markdown, int topHeading = 3)
    {
        var document = Markdown.Parse(markdown ?? "", Pipeline);
        var headings = document.Descendants<HeadingBlock>().ToList();
        var highest = headings.Count == 0 ? 1 : headings.Min(h => h.Level);
        foreach (var heading in headings)
            heading.Level = Math.Min(6, heading.Level - highest + topHeading);
        return new HtmlString(Sanitizer.Sanitize(document.ToHtml(Pipeline)));
    }

    private static HtmlSanitizer MakeSanitizer()
    {
        var sanitizer = new HtmlSanitizer(new HtmlSanitizerOptions
        {
            AllowedTags = new HashSet<string>(StringComparer.OrdinalIgnoreCase)
            {
                "p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "a", "h2", "h3", "h4", "h5", "h6",
            },
            AllowedAttributes = new HashSet<string>(StringComparer.OrdinalIgnoreCase) { "href", "start" },
            AllowedSchemes = new HashSet<string>(StringComparer.OrdinalIgnoreCase) { "http", "https", "mailto" },
        });
        sanitizer.KeepChildNodes = false;
        return sanitizer;
    }
}

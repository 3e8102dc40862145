using System.Globalization;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>What stands on pages between the tags: texts that may have tags in them, so that a sentence with a link or a bold word stays one sentence.</summary>
internal static class PageText
{
    /// <param name="html">English as HTML, a literal.</param>
    public static IHtmlContent H(string html) => new HtmlString(T(html));

    /// <summary>What fills a hole is encoded, unless it is HTML already (a link, a mark).</summary>
    public static IHtmlContent H(HtmlTextHandler html) => new HtmlString(html.ToHtml());
}

/// <summary>As <see cref="TextHandler"/>, with every hole encoded for HTML.</summary>
[InterpolatedStringHandler]
internal readonly struct HtmlTextHandler(int literalLength, int formattedCount)
{
    private readonly StringBuilder? _english = Say.Spoken is null ? new StringBuilder(literalLength + (formattedCount * 16)) : null;
    private readonly Holes? _holes = Say.Spoken is null ? null : new Holes();

    public void AppendLiteral(string html)
    {
        _english?.Append(html);
        _holes?.Literal(html);
    }

    public void AppendFormatted<TValue>(TValue value, string? format = null)
    {
        var html = value is IHtmlContent content ? Written(content) : HtmlEncoder.Default.Encode(Holes.Format(value, format));
        _english?.Append(html);
        _holes?.Add(value, html);
    }

    internal string ToHtml() => _english?.ToString() ?? _holes!.ToText();

    private static string Written(IHtmlContent content)
    {
        using var text = new StringWriter(CultureInfo.InvariantCulture);
        content.WriteTo(text, HtmlEncoder.Default);
        return text.ToString();
    }
}

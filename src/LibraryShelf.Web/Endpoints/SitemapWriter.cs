using System.Globalization;
using System.Xml;
using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Endpoints;

/// <summary>The public pages for search engines (sitemaps.org 0.9).</summary>
internal static class SitemapWriter
{
    private const string Sitemap = "http://www.sitemaps.org/schemas/sitemap/0.9";
    private static readonly string[] Always = ["/", "/help", "/terms", "/privacy", "/licence", "/write"];

    /// <param name="home">The shelf's address without a slash at its end.</param>
    /// <param name="boxes">Those on the shelf.</param>
    public static byte[] Write(string home, IReadOnlyList<ShelfBox> boxes) => PlainXml.Write(xml =>
    {
        xml.WriteStartElement("urlset", Sitemap);
        foreach (var page in Always)
            Page(xml, home + page, null);
        foreach (var box in boxes)
        {
            Page(xml, $"{home}/boxes/{box.Slug}", box.Latest.PublishedAt);
            Page(xml, $"{home}/boxes/{box.Slug}/which-version", null);
        }
        xml.WriteEndElement();
    });

    private static void Page(XmlWriter xml, string address, DateTimeOffset? changed)
    {
        xml.WriteStartElement("url", Sitemap);
        xml.WriteElementString("loc", Sitemap, address);
        if (changed is { } day)
            xml.WriteElementString("lastmod", Sitemap, day.UtcDateTime.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture));
        xml.WriteEndElement();
    }
}

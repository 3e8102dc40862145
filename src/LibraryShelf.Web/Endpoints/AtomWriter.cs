using System.Globalization;
using System.Net;
using System.Xml;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Endpoints;

/// <summary>A feed as Atom 1.0 (RFC 4287).</summary>
internal static class AtomWriter
{
    private const string Atom = "http://www.w3.org/2005/Atom";

    /// <param name="feed">The news.</param>
    /// <param name="home">The shelf's address without a slash at its end, or only its path ("" mostly).</param>
    /// <param name="self">The feed's own path.</param>
    public static byte[] Write(Feed feed, string home, string self) => PlainXml.Write(xml =>
    {
        xml.WriteStartElement("feed", Atom);
        Text(xml, "id", $"urn:uuid:{feed.Id}");
        Text(xml, "title", feed.Box is { } box ? $"{box} · {feed.Shop}" : feed.Shop);
        Text(xml, "updated", Instant(feed.UpdatedAt));
        Link(xml, "self", "application/atom+xml", home + self);
        Link(xml, "alternate", "text/html", home + (feed.Box is null ? "/" : $"/boxes/{feed.Entries[0].Slug}"));
        xml.WriteStartElement("author", Atom);
        Text(xml, "name", feed.Shop);
        xml.WriteEndElement();
        xml.WriteElementString("generator", Atom, "LibraryShelf");
        foreach (var entry in feed.Entries)
            Entry(xml, entry, home);
        xml.WriteEndElement();
    });

    private static void Entry(XmlWriter xml, FeedEntry entry, string home)
    {
        var isWithdrawn = entry.WithdrawnAt is not null;
        xml.WriteStartElement("entry", Atom);
        Text(xml, "id", $"urn:uuid:{entry.Id}");
        Text(xml, "title", isWithdrawn ? T($"{entry.Library} {entry.Number} (withdrawn)") : $"{entry.Library} {entry.Number}");
        Text(xml, "published", Instant(entry.PublishedAt));
        Text(xml, "updated", Instant(entry.UpdatedAt));
        Link(xml, "alternate", "text/html", $"{home}/boxes/{entry.Slug}#v{Uri.EscapeDataString(entry.Number)}");
        Text(xml, "summary", isWithdrawn
            ? T($"Version {entry.Number} of {entry.Library} was withdrawn. {entry.WithdrawnBecause}").TrimEnd()
            : T($"Version {entry.Number} of {entry.Library} is on the shelf."));
        xml.WriteStartElement("content", Atom);
        xml.WriteAttributeString("type", "html");
        xml.WriteString(PlainXml.Sayable(Content(entry)));
        xml.WriteEndElement();
        xml.WriteEndElement();
    }

    private static string Content(FeedEntry entry)
    {
        using var html = new StringWriter();
        if (entry.WithdrawnAt is not null)
            html.Write($"<p>{WebUtility.HtmlEncode(T($"Withdrawn: {entry.WithdrawnBecause}"))}</p>");
        MarkdownView.Render(entry.Notes).WriteTo(html, System.Text.Encodings.Web.HtmlEncoder.Default);
        return html.ToString();
    }

    private static void Text(XmlWriter xml, string name, string words) => xml.WriteElementString(name, Atom, PlainXml.Sayable(words));

    private static void Link(XmlWriter xml, string relation, string type, string address)
    {
        xml.WriteStartElement("link", Atom);
        xml.WriteAttributeString("rel", relation);
        xml.WriteAttributeString("type", type);
        xml.WriteAttributeString("href", address);
        xml.WriteEndElement();
    }

    /// <summary>RFC 3339, UTC.</summary>
    private static string Instant(DateTimeOffset instant) => instant.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss'Z'", CultureInfo.InvariantCulture);
}

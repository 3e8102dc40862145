using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using LibraryShelf.Core.Catalog;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>
/// What a page is about as JSON-LD in schema.org's words. A library is a Dataset (a set of recordings), not a program. A data block is not
/// script to the content policy (HTML, "script" type): it is never run.
/// </summary>
internal static class LinkedData
{
    /// <param name="box">The box; nothing is said of one without a version on the shelf.</param>
    /// <param name="shop">Who made it.</param>
    /// <param name="home">The shelf's address without a slash at its end; null leaves addresses out.</param>
    public static IHtmlContent Box(BoxPage box, string shop, string? home)
    {
        if (box.Versions.Count == 0)
            return HtmlString.Empty;
        var latest = box.Latest.Release;
        var data = Of("Dataset");
        data["name"] = box.Library.Title;
        data["description"] = box.Library.Sentence.Length > 0 ? box.Library.Sentence : null;
        data["version"] = latest.Number;
        data["datePublished"] = latest.PublishedAt.UtcDateTime.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture);
        data["isAccessibleForFree"] = box.Audience == Audience.Free;
        data["creator"] = new JsonObject { ["@type"] = "Organization", ["name"] = shop };
        data["license"] = latest.Row.LicenceSpdx is { } spdx ? $"https://spdx.org/licenses/{spdx}"
            : home is not null ? $"{home}/boxes/{box.Library.Slug}/{latest.Number}/licence" : null;
        data["url"] = home is null ? null : $"{home}/boxes/{box.Library.Slug}";
        data["distribution"] = new JsonObject
        {
            ["@type"] = "DataDownload", ["encodingFormat"] = "application/zip",
            ["contentSize"] = string.Create(CultureInfo.InvariantCulture, $"{latest.Size} B"),
        };
        return Block(data);
    }

    /// <summary>The newest of a long shelf: /sitemap.xml lists every box, and each box's page says the rest of itself.</summary>
    private const int MostParts = 50;

    public static IHtmlContent Shelf(IEnumerable<ShelfBox> boxes, string shop, string? home)
    {
        var data = Of("CollectionPage");
        data["name"] = shop;
        data["url"] = home is null ? null : home + "/";
        data["hasPart"] = new JsonArray([.. boxes.Take(MostParts).Select(b => Part(b, home))]);
        return Block(data);
    }

    private static JsonObject Part(ShelfBox box, string? home)
    {
        var part = new JsonObject { ["@type"] = "Dataset", ["name"] = box.Title, ["version"] = box.Latest.Number, ["isAccessibleForFree"] = box.Audience == Audience.Free };
        if (home is not null)
            part["url"] = $"{home}/boxes/{box.Slug}";
        return part;
    }

    private static JsonObject Of(string type) => new() { ["@context"] = "https://schema.org", ["@type"] = type };

    /// <summary>The default encoder writes every &lt;, &gt; and &amp; as \u003C and so on: no title can end the block.</summary>
    private static HtmlString Block(JsonObject data)
    {
        foreach (var name in data.Where(d => d.Value is null).Select(d => d.Key).ToList())
            data.Remove(name);
        return new HtmlString($"<script type=\"application/ld+json\">{data.ToJsonString(JsonSerializerOptions.Default)}</script>");
    }
}

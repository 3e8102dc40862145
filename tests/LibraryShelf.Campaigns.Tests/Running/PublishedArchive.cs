using System.IO.Compression;
using System.Security.Cryptography;
using LibraryShelf.Campaigns.Tests.Making;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>An archive as a visitor gets it.</summary>
internal static class PublishedArchive
{
    /// <summary>Presses the download button of a box; answers the link, path and query.</summary>
    public static Task<Uri> LinkAsync(TrialShelf shelf, string slug, long releaseId) =>
        new Forms(shelf.Visitor).PressAsync($"/boxes/{slug}", "", ("release", $"{releaseId}"));

    /// <summary>Downloads the release and holds it against the folder: the same files, no more but the shelf's own texts, byte for byte.</summary>
    public static async Task HoldAsync(TrialShelf shelf, string slug, long releaseId, MadeFolder folder)
    {
        var link = await LinkAsync(shelf, slug, releaseId);
        using var bytes = new MemoryStream(await shelf.Visitor.GetByteArrayAsync(link));
        await using var zip = new ZipArchive(bytes, ZipArchiveMode.Read);
        var found = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var entry in zip.Entries)
        {
            await using var content = await entry.OpenAsync();
            found[entry.FullName[(entry.FullName.IndexOf('/', StringComparison.Ordinal) + 1)..]] = Convert.ToHexStringLower(await SHA256.HashDataAsync(content));
        }
        foreach (var own in new[] { "CHANGES.md", "LICENCE.txt", "INSTALL.txt", "CHECKSUMS.sha256" })
            found.Remove(own);
        Assert.Equal(folder.Hashes.OrderBy(f => f.Key, StringComparer.Ordinal), found.OrderBy(f => f.Key, StringComparer.Ordinal));
    }
}

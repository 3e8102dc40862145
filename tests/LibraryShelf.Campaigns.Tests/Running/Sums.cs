using System.Security.Cryptography;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Running;

internal static class Sums
{
    /// <summary>SHA-256 of the archive as its recipe and the stored files make it, lower-case hex; read here, not by the program.</summary>
    public static async Task<string> OfArchiveAsync(TrialShelf shelf, long releaseId)
    {
        await using var db = shelf.Open();
        var archive = await db.Archives.SingleAsync(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full);
        var store = new DiskBlobStore(shelf.Paths);
        await using var stored = store.Open(archive.RecipeSha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes);
        var layout = new ArchiveLayout(Recipe.Parse(bytes.ToArray()));
        using var hash = SHA256.Create();
        await using (var into = new CryptoStream(Stream.Null, hash, CryptoStreamMode.Write))
            await ArchiveWriter.WriteAsync(layout, store.Open, into, 0, layout.Length, CancellationToken.None);
        return Convert.ToHexStringLower(hash.Hash!);
    }
}

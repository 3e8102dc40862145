using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Archives;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Benchmarks.Making;

/// <summary>One published free library whose archive is about so large, and the same bytes as one plain file.</summary>
internal sealed class StockedBox(Shelf shelf)
{
    private const int BlobBytes = 16 << 20;

    public long ReleaseId { get; private set; }

    public long Length { get; private set; }

    public async Task StockAsync(long bytes, string? plainFile = null)
    {
        var blobs = new DiskBlobStore(shelf.Paths);
        var random = new Random(9110);
        var buffer = new byte[BlobBytes];
        var entries = new List<RecipeEntry>();
        for (long made = 0; made < bytes; made += BlobBytes)
        {
            random.NextBytes(buffer);
            var stored = await blobs.PutAsync(new MemoryStream(buffer), CancellationToken.None);
            entries.Add(RecipeEntry.FromBlob($"Samples/{made / BlobBytes:000}.wav", BlobBytes, stored.Crc32, stored.Sha256));
        }
        var recipe = new Recipe("Bench Box", Recipe.Undated, entries);
        await blobs.PutAsync(new MemoryStream(recipe.CanonicalBytes.ToArray()), CancellationToken.None);
        var layout = new ArchiveLayout(recipe);
        Length = layout.Length;
        await AddRowsAsync(recipe);
        if (plainFile is null)
            return;
        await using var plain = File.Create(plainFile);
        await ArchiveWriter.WriteAsync(layout, blobs.Open, plain, 0, layout.Length, CancellationToken.None);
    }

    /// <summary>Links made as the download button makes them, for a visitor.</summary>
    public async Task<List<string>> LinksAsync(int count)
    {
        await using var db = shelf.Open();
        var settings = Options.Create(new ShelfSettings());
        var links = new List<string>(count);
        for (var i = 0; i < count; i++)
        {
            db.ChangeTracker.Clear();
            var make = new MakeLink(db, new ReadRights(db, TimeProvider.System), new FindUpdate(db, new DiskBlobStore(shelf.Paths), TimeProvider.System), TimeProvider.System, settings);
            links.Add(await make.RunAsync(ReleaseId, null, null, CancellationToken.None) is MakeLinkOutcome.Made made
                ? made.Path : throw new InvalidOperationException("No link was made."));
        }
        return links;
    }

    private async Task AddRowsAsync(Recipe recipe)
    {
        await using var db = shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var library = new Library { Slug = "bench-box", Title = "Bench Box", CreatedAt = now };
        library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = now });
        var release = new Release { Number = "1.0.0", CreatedAt = now };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
            release.MoveTo(state, now);
        library.Releases.Add(release);
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        ReleaseId = release.Id;
        db.Archives.Add(new Archive
        {
            ReleaseId = ReleaseId, RecipeSha256 = recipe.Sha256, Length = Length, FileName = "Bench Box 1.0.0.zip", CreatedAt = now,
            Sha256 = new string('0', 64),
        });
        await db.SaveChangesAsync();
    }
}

using System.Security.Cryptography;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Archives;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Downloads;

/// <summary>A shelf with one box and one sealed, published version of two small files; verbs on fresh databases.</summary>
internal sealed class StockedShelf(TempShelf shelf) : IAsyncDisposable
{
    public const string FileName = "Mended Kettle 1.0.0.zip";

    public TempShelf Temp => shelf;
    public DiskBlobStore Blobs { get; } = new(shelf.Paths);
    public ShelfSettings Settings { get; } = new();
    public ArchiveLayouts Layouts { get; private init; } = null!;
    public LinkUses Uses { get; private set; } = null!;
    public long LibraryId { get; private set; }
    public long ReleaseId { get; private set; }
    public string RecipeSha256 { get; private set; } = "";
    public long Length { get; private set; }

    public DateTimeOffset Now => shelf.Clock.GetUtcNow();

    public static async Task<StockedShelf> MakeAsync(Audience audience = Audience.Free)
    {
        var temp = await TempShelf.MakeAsync();
        var stocked = new StockedShelf(temp) { Layouts = new ArchiveLayouts(new DiskBlobStore(temp.Paths)) };
        stocked.Restart();
        await stocked.StockAsync(audience);
        return stocked;
    }

    public async Task<T> WithAsync<T>(Func<ShelfDb, Task<T>> use)
    {
        await using var db = shelf.Open();
        return await use(db);
    }

    public Task<MakeLinkOutcome> MakeLinkAsync(long? personId = null) => WithAsync(db =>
        new MakeLink(db, new ReadRights(db, shelf.Clock), new FindUpdate(db, Blobs, shelf.Clock), shelf.Clock, Options.Create(Settings)).RunAsync(ReleaseId, personId, null, default));

    public async Task<MakeLinkOutcome.Made> MadeAsync(long? personId = null) => Assert.IsType<MakeLinkOutcome.Made>(await MakeLinkAsync(personId));

    public Task<OpenLinkOutcome> OpenAsync(string path) => WithAsync(db => Opener(db).RunAsync(path, default));

    public async Task<LinkTrouble> TroubleAsync(string path) => Assert.IsType<OpenLinkOutcome.Refused>(await OpenAsync(path)).Trouble;

    public void Restart() => Uses = new(Options.Create(Settings));

    public OpenLink Opener(ShelfDb db) => new(db, Layouts, Uses, shelf.Clock);

    public Task<LinkTrouble?> StartAsync(string downloadId) => WithAsync(db => new StartDownload(db, shelf.Clock).RunAsync(new() { Id = downloadId }, default));

    public Task<MayDownloadWhy> RightsAsync(long? personId) => WithAsync(db => new ReadRights(db, shelf.Clock).RunAsync(ReleaseId, personId, default));

    public async Task DecideAsync(Audience audience)
    {
        await using var db = shelf.Open();
        db.AudienceDecisions.Add(new AudienceDecision { LibraryId = LibraryId, Audience = audience, DecidedAt = Now });
        await db.SaveChangesAsync();
    }

    public async Task<long> PersonAsync(string email, bool isMaker = false)
    {
        await using var db = shelf.Open();
        var upper = email.ToUpperInvariant();
        var person = new Person { Email = email, NormalizedEmail = upper, UserName = email, NormalizedUserName = upper, IsMaker = isMaker, CreatedAt = Now };
        db.Users.Add(person);
        await db.SaveChangesAsync();
        return person.Id;
    }

    public async ValueTask DisposeAsync()
    {
        Layouts.Dispose();
        await shelf.DisposeAsync();
    }

    private async Task StockAsync(Audience audience)
    {
        var recipe = new Recipe("Mended Kettle", Recipe.Undated,
        [
            RecipeEntry.FromBytes("INSTALL.txt", "Unzip it.\n"u8.ToArray()),
            await BlobAsync("Samples/C4.wav", 5000),
        ]);
        using var canonical = new MemoryStream(recipe.CanonicalBytes.ToArray());
        var stored = await Blobs.PutAsync(canonical, default);
        (RecipeSha256, Length) = (stored.Sha256, new ArchiveLayout(recipe).Length);

        await using var db = shelf.Open();
        var library = new Library { Slug = "mended-kettle", Title = "Mended Kettle", CreatedAt = Now };
        library.Audiences.Add(new AudienceDecision { Audience = audience, DecidedAt = Now });
        var release = new Release { Number = "1.0.0", CreatedAt = Now };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published }) Assert.True(release.MoveTo(state, Now));
        library.Releases.Add(release);
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive { ReleaseId = release.Id, RecipeSha256 = RecipeSha256, Length = Length, FileName = FileName, CreatedAt = Now });
        await db.SaveChangesAsync();
        (LibraryId, ReleaseId) = (library.Id, release.Id);
    }

    private async Task<RecipeEntry> BlobAsync(string path, int size)
    {
        var bytes = new byte[size];
        new Random(20261125).NextBytes(bytes);
        using var stream = new MemoryStream(bytes);
        var stored = await Blobs.PutAsync(stream, default);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(bytes)), stored.Sha256);
        return RecipeEntry.FromBlob(path, size, stored.Crc32, stored.Sha256);
    }
}

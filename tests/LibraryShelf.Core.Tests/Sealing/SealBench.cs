using System.Text;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

/// <summary>A shelf with one library and helpers that bring releases to the door of sealing.</summary>
internal sealed class SealBench(TempShelf shelf) : IAsyncDisposable
{
    public TempShelf Shelf { get; } = shelf;

    /// <summary>Of the library whose releases are made.</summary>
    public string Slug { get; set; } = "kettle";

    public DiskBlobStore Store { get; } = new(shelf.Paths);

    public static async Task<SealBench> MakeAsync()
    {
        var bench = new SealBench(await TempShelf.MakeAsync());
        await using var db = bench.Shelf.Open();
        var now = bench.Shelf.Clock.GetUtcNow();
        db.Libraries.Add(new Library { Slug = "kettle", Title = "Mended Kettle", CreatedAt = now, DeclaredAt = now });
        await db.SaveChangesAsync();
        return bench;
    }

    /// <summary>A checked release with these files, one player, a licence and notes.</summary>
    public async Task<long> CheckedAsync(string number, params (string Path, string Text)[] files)
    {
        await using var db = Shelf.Open();
        var library = await db.Libraries.SingleAsync(l => l.Slug == Slug);
        var release = new Release
        {
            LibraryId = library.Id, Number = number, Notes = $"What {number} changed.", LicenceSpdx = "CC-BY-4.0",
            CreatedAt = Shelf.Clock.GetUtcNow(),
        };
        release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = "2.3" });
        foreach (var (path, text) in files)
            release.Files.Add(await FileAsync(db, path, text));
        release.MoveTo(ReleaseState.Checked, Shelf.Clock.GetUtcNow());
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        return release.Id;
    }

    public async Task ChangeAsync(long releaseId, Action<Release> change)
    {
        await using var db = Shelf.Open();
        change(await db.Releases.Include(r => r.Library).Include(r => r.Players).SingleAsync(r => r.Id == releaseId));
        await db.SaveChangesAsync();
    }

    public async Task<long> MustFixAsync(long releaseId, string? excuse = null)
    {
        await using var db = Shelf.Open();
        var entry = new SheetEntry { ReleaseId = releaseId, Code = "clipped", Severity = Severity.MustFix, Path = "a.wav", Message = "Clipped.", ExcuseReason = excuse };
        db.SheetEntries.Add(entry);
        await db.SaveChangesAsync();
        return entry.Id;
    }

    public async Task<AskForSealOutcome> AskAsync(long releaseId, Audience? publishFor = null)
    {
        await using var db = Shelf.Open();
        return await new AskForSeal(db, Shelf.Clock).RunAsync(releaseId, publishFor, declares: false, CancellationToken.None);
    }

    public async Task<SealReleaseOutcome> SealAsync(long releaseId, IBlobStore? store = null)
    {
        await using var db = Shelf.Open();
        return await new SealRelease(db, store ?? Store, Shelf.Clock).RunAsync(releaseId, CancellationToken.None);
    }

    public async Task<Archive> SealedAsync(long releaseId)
    {
        Assert.IsType<AskForSealOutcome.Asked>(await AskAsync(releaseId));
        Assert.IsType<SealReleaseOutcome.Sealed>(await SealAsync(releaseId));
        return await ArchiveAsync(releaseId);
    }

    public async Task<Archive> ArchiveAsync(long releaseId)
    {
        await using var db = Shelf.Open();
        return await db.Archives.SingleAsync(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full);
    }

    public async Task<Release> ReleaseAsync(long releaseId)
    {
        await using var db = Shelf.Open();
        return await db.Releases.Include(r => r.Library).SingleAsync(r => r.Id == releaseId);
    }

    public ValueTask DisposeAsync() => Shelf.DisposeAsync();

    public Task<ReleaseFile> FileAsync(Core.Data.ShelfDb db, string path, string text) => FileAsync(db, path, Encoding.UTF8.GetBytes(text));

    public async Task<ReleaseFile> FileAsync(Core.Data.ShelfDb db, string path, byte[] content)
    {
        using var bytes = new MemoryStream(content);
        var stored = await Store.PutAsync(bytes, CancellationToken.None);
        if (await db.Blobs.FindAsync(stored.Sha256) is null)
            db.Blobs.Add(new Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32, StoredAt = Shelf.Clock.GetUtcNow() });
        return new ReleaseFile { Path = path, Sha256 = stored.Sha256, Size = stored.Size };
    }
}

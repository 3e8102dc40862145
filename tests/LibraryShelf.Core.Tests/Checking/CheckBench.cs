using System.Collections.Concurrent;
using System.Text;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Checking;

/// <summary>A shelf with one library and one draft whose files are put there directly; the store tells which blobs were opened.</summary>
internal sealed class CheckBench : IAsyncDisposable
{
    private readonly TempShelf shelf;

    private CheckBench(TempShelf shelf)
    {
        this.shelf = shelf;
        Store = new WatchedStore(new DiskBlobStore(shelf.Paths));
    }

    public WatchedStore Store { get; }

    /// <summary>As one running program keeps them; another one is a program started anew.</summary>
    public KnownFacts Known { get; set; } = new();

    public TempShelf Shelf => shelf;

    public long LibraryId { get; private set; }

    public static async Task<CheckBench> MakeAsync()
    {
        var bench = new CheckBench(await TempShelf.MakeAsync());
        await using var db = bench.shelf.Open();
        var library = new Library { Slug = "salt-jar", Title = "Salt Jar", CreatedAt = bench.shelf.Clock.GetUtcNow() };
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        bench.LibraryId = library.Id;
        return bench;
    }

    public ShelfDb Open() => shelf.Open();

    public async Task<long> DraftAsync(string number, params (string Path, byte[] Bytes)[] files)
    {
        await using var db = shelf.Open();
        var release = new Release { LibraryId = LibraryId, Number = number, CreatedAt = shelf.Clock.GetUtcNow() };
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        foreach (var (path, bytes) in files)
            await PutAsync(release.Id, path, bytes);
        return release.Id;
    }

    /// <summary>Writes or replaces a line of the manifest and stores its bytes.</summary>
    public async Task PutAsync(long releaseId, string path, byte[] bytes)
    {
        var stored = await Store.PutAsync(new MemoryStream(bytes), CancellationToken.None);
        await using var db = shelf.Open();
        await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId && f.Path == path).ExecuteDeleteAsync();
        db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = releaseId, Path = path, Sha256 = stored.Sha256, Size = stored.Size });
        if (!await db.Blobs.AnyAsync(b => b.Sha256 == stored.Sha256))
            db.Blobs.Add(new Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32, StoredAt = shelf.Clock.GetUtcNow() });
        await db.SaveChangesAsync();
    }

    public async Task<AskForCheckOutcome> AskAsync(long releaseId)
    {
        await using var db = shelf.Open();
        return await new AskForCheck(db, shelf.Clock).RunAsync(releaseId, CancellationToken.None);
    }

    public async Task<CheckReleaseOutcome> RunAsync(long releaseId)
    {
        await using var db = shelf.Open();
        return await new CheckRelease(db, Store, shelf.Clock, Known).RunAsync(releaseId, CancellationToken.None);
    }

    public async Task<StopCheckOutcome> StopAsync(long releaseId)
    {
        await using var db = shelf.Open();
        return await new StopCheck(db).RunAsync(releaseId, CancellationToken.None);
    }

    public async Task<CheckReleaseOutcome.Checked> CheckAsync(long releaseId)
    {
        Assert.IsType<AskForCheckOutcome.Asked>(await AskAsync(releaseId));
        return Assert.IsType<CheckReleaseOutcome.Checked>(await RunAsync(releaseId));
    }

    public async Task ReopenAsync(long releaseId)
    {
        await using var db = shelf.Open();
        var release = await db.Releases.SingleAsync(r => r.Id == releaseId);
        Assert.True(release.MoveTo(ReleaseState.Draft, shelf.Clock.GetUtcNow()));
        await db.SaveChangesAsync();
    }

    public async Task<ExcuseFindingOutcome> ExcuseAsync(long releaseId, long entryId, string? reason)
    {
        await using var db = shelf.Open();
        return await new ExcuseFinding(db, shelf.Clock).RunAsync(releaseId, entryId, reason, CancellationToken.None);
    }

    public async Task<Release> ReleaseAsync(long releaseId)
    {
        await using var db = shelf.Open();
        return await db.Releases.AsNoTracking().SingleAsync(r => r.Id == releaseId);
    }

    public async Task<List<SheetEntry>> SheetAsync(long releaseId)
    {
        await using var db = shelf.Open();
        return await db.SheetEntries.AsNoTracking().Where(e => e.ReleaseId == releaseId).OrderBy(e => e.Order).ToListAsync();
    }

    /// <summary>A mono 16-bit WAV at 44,100 Hz.</summary>
    public static byte[] Wav(params short[] samples)
    {
        byte[] data = [.. samples.SelectMany(BitConverter.GetBytes)];
        byte[] fmt = [1, 0, 1, 0, .. BitConverter.GetBytes(44100), .. BitConverter.GetBytes(88200), 2, 0, 16, 0];
        return [.. "RIFF"u8, .. BitConverter.GetBytes(36 + data.Length), .. "WAVEfmt "u8, .. BitConverter.GetBytes(16), .. fmt, .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data];
    }

    public static byte[] Text(string text) => Encoding.UTF8.GetBytes(text);

    public ValueTask DisposeAsync() => shelf.DisposeAsync();
}

internal sealed class WatchedStore(IBlobStore inner) : IBlobStore
{
    public ConcurrentQueue<string> Opened { get; } = [];

    /// <summary>Happens before each blob is opened.</summary>
    public Action<string> Opening { get; set; } = _ => { };

    public Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken) => inner.PutAsync(content, cancellationToken);

    public Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken) => inner.AdoptAsync(filePath, bytes, cancellationToken);

    public Stream Open(string sha256)
    {
        Opened.Enqueue(sha256);
        Opening(sha256);
        return inner.Open(sha256);
    }

    public bool Has(string sha256) => inner.Has(sha256);

    public string? LocalPath(string sha256) => inner.LocalPath(sha256);

    public IEnumerable<string> UntouchedSince(DateTimeOffset before) => inner.UntouchedSince(before);

    public bool Remove(string sha256, DateTimeOffset before) => inner.Remove(sha256, before);

    public void ClearUnfinished(DateTimeOffset before) => inner.ClearUnfinished(before);
}

using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>A shelf on the database of this run and a real disk, with one library and one draft. "Restart" forgets all memory.</summary>
internal sealed class IntakeBench : IDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("intake-");
    private readonly TestDatabase database;

    public IntakeBench()
    {
        Paths = new DataPaths(folder.FullName);
        Directory.CreateDirectory(Paths.Uploads);
        Store = new DiskBlobStore(Paths, Clock);
        Desk = new UploadDesk(Paths);
        database = new TestDatabase(Paths.Database).WithTables();
        using var db = Db();
        var library = new Library { Slug = "kettle", Title = "Kettle", CreatedAt = Clock.GetUtcNow() };
        library.Releases.Add(new Release { Number = "1.0.0", CreatedAt = Clock.GetUtcNow() });
        library.Releases.Add(new Release { Number = "1.1.0", CreatedAt = Clock.GetUtcNow() });
        db.Add(library);
        db.SaveChanges();
        (ReleaseId, NextReleaseId) = (library.Releases[0].Id, library.Releases[1].Id);
    }

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 3, 1, 9, 0, 0, TimeSpan.Zero));
    public DataPaths Paths { get; }
    public IBlobStore Store { get; set; }
    /// <summary>Looks on at every database use from now on.</summary>
    public IInterceptor? Watch { get; set; }

    /// <summary>Bytes free on a disk of a terabyte; null: the system does not say.</summary>
    public long? Free { get; set; }

    public DiskReserve Reserve => new(new SetRoom(() => Free is { } free ? new DiskRoom(1_000_000_000_000, free) : null), Paths, Options.Create(Settings));

    internal sealed class SetRoom(Func<DiskRoom?> room) : IDiskRoom
    {
        public DiskRoom? Of(string folder) => room();
    }

    public UploadDesk Desk { get; private set; }
    public ShelfSettings Settings { get; } = new();
    public long ReleaseId { get; }
    public long NextReleaseId { get; }

    public ShelfDb Db() => database.Open(Watch);

    public void Restart() => Desk = new UploadDesk(Paths);

    public async Task<PlanOutcome> PlanAsync(params PlannedFile[] files)
    {
        await using var db = Db();
        return await new PlanFolder(db, Desk, Options.Create(Settings), Clock).RunAsync(ReleaseId, files, CancellationToken.None);
    }

    public async Task<StartUploadOutcome> StartAsync(string path, long length, string? hash = null, UploadKind kind = UploadKind.File)
    {
        await using var db = Db();
        return await new StartUpload(db, Reserve, Options.Create(Settings), Clock)
            .RunAsync(new UploadWish(ReleaseId, kind, path, length, hash), CancellationToken.None);
    }

    public async Task<string> StartedAsync(string path, long length, string? hash = null, UploadKind kind = UploadKind.File) =>
        Assert.IsType<StartUploadOutcome.Started>(await StartAsync(path, length, hash, kind)).UploadId;

    public async Task<UploadOutcome> AppendAsync(string id, long offset, byte[] bytes) => await AppendAsync(id, offset, new MemoryStream(bytes));

    public async Task<UploadOutcome> AppendAsync(string id, long offset, Stream body, PieceChecksum? checksum = null)
    {
        await using var db = Db();
        return Without(await new AppendToUpload(db, Desk, Finish(db), Reserve, Clock).RunAsync(id, offset, body, checksum, CancellationToken.None));
    }

    public async Task<UploadOutcome> ReadAsync(string id)
    {
        await using var db = Db();
        return Without(await new ReadUpload(db, Desk, Finish(db), Clock).RunAsync(id, CancellationToken.None));
    }

    private FinishUpload Finish(ShelfDb db) => new(db, Desk, Store, Options.Create(Settings), Clock);

    /// <summary>The expiry follows the files' own times, the machine's; the tests about it read the endpoint's header.</summary>
    private static UploadOutcome Without(UploadOutcome outcome) => outcome with { ExpiresAt = null };

    public async Task<UnpackOutcome> UnpackAsync(string id)
    {
        await using var db = Db();
        return await new UnpackZip(db, Desk, Store, Reserve, Options.Create(Settings), Clock).RunAsync(id, CancellationToken.None);
    }

    /// <summary>Sends a whole file that was not planned.</summary>
    public async Task<UploadOutcome> SendAsync(string path, byte[] bytes, UploadKind kind = UploadKind.File) =>
        await AppendAsync(await StartedAsync(path, bytes.Length, null, kind), 0, bytes);

    /// <summary>The bytes that the draft holds at this path.</summary>
    public async Task<byte[]> BytesOfAsync(string path)
    {
        await using var stored = Store.Open((await ManifestAsync())[path]);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes);
        return bytes.ToArray();
    }

    public async Task<Dictionary<string, string>> ManifestAsync()
    {
        await using var db = Db();
        return await db.ReleaseFiles.Where(f => f.ReleaseId == ReleaseId).ToDictionaryAsync(f => f.Path, f => f.Sha256);
    }

    public async Task SetStateAsync(params ReleaseState[] states)
    {
        await using var db = Db();
        var release = await db.Releases.SingleAsync(r => r.Id == ReleaseId);
        Assert.All(states, s => Assert.True(release.MoveTo(s, Clock.GetUtcNow())));
        await db.SaveChangesAsync();
    }

    /// <summary>All that a refusal must leave as it was: the manifest and what is claimed for the draft.</summary>
    public async Task<string> DraftAsync()
    {
        await using var db = Db();
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == ReleaseId).OrderBy(f => f.Path).Select(f => f.Path + " " + f.Sha256 + " " + f.Size).ToListAsync();
        var claims = await db.BlobClaims.Where(c => c.ReleaseId == ReleaseId).OrderBy(c => c.Sha256).Select(c => "claim " + c.Sha256).ToListAsync();
        return string.Join('\n', files.Concat(claims));
    }

    public async Task<Release> ReleaseAsync()
    {
        await using var db = Db();
        return await db.Releases.SingleAsync(r => r.Id == ReleaseId);
    }

    public static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    public static string Hash(byte[] bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));

    public static PlannedFile Line(string path, byte[] bytes) => new(path, bytes.Length, Hash(bytes));

    public void Dispose()
    {
        database.Dispose();
        foreach (var file in folder.EnumerateFiles("*", SearchOption.AllDirectories))
            file.IsReadOnly = false;
        folder.Delete(recursive: true);
    }
}

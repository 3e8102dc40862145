using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>A shelf whose database the migrations made, with a folder for backups beside its data directory.</summary>
internal sealed class UpkeepShelf : IDisposable
{
    private readonly DirectoryInfo root = Directory.CreateTempSubdirectory("upkeep-");
    private readonly TestDatabase database;

    public UpkeepShelf()
    {
        Paths = new(Path.Combine(root.FullName, "data"));
        Restored = new(Path.Combine(root.FullName, "restored"));
        Directory.CreateDirectory(Paths.Blobs);
        Settings.Backup.Directory = root.CreateSubdirectory("backups").FullName;
        Blobs = new(Paths, Clock);
        database = new TestDatabase(Paths.Database).WithTables();
        Copies = database.Copies(Paths);
    }

    public DataPaths Paths { get; }

    /// <summary>An empty place to restore into.</summary>
    public DataPaths Restored { get; }

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 11, 25, 3, 0, 0, TimeSpan.Zero));

    public DateTimeOffset Now => Clock.GetUtcNow();

    public ShelfSettings Settings { get; } = new();

    public string Backups => Settings.Backup.Directory;

    public DiskBlobStore Blobs { get; }

    public IDatabaseCopies Copies { get; }

    public ShelfDb Open() => database.Open();

    /// <summary>Opens the restored shelf's database.</summary>
    public async Task<ShelfDb> OpenRestoredAsync() => await Copies.OpenAsync(Restored.Database, default) ?? throw new InvalidOperationException("There is none.");

    /// <summary>Stores some bytes, with their row; answers their hash.</summary>
    public async Task<string> StoreAsync(string content)
    {
        using var bytes = new MemoryStream(System.Text.Encoding.UTF8.GetBytes(content));
        var stored = await Blobs.PutAsync(bytes, default);
        await using var db = Open();
        db.Blobs.Add(new Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32, StoredAt = Now });
        await db.SaveChangesAsync();
        return stored.Sha256;
    }

    public async Task AddAsync(params object[] rows)
    {
        await using var db = Open();
        db.AddRange(rows);
        await db.SaveChangesAsync();
    }

    /// <param name="copies">The shelf's own, if nothing is said.</param>
    /// <param name="from">Another shelf that was given the same settings.</param>
    /// <param name="store">What its blobs are read through.</param>
    public async Task<BackupOutcome> BackUpAsync(IDatabaseCopies? copies = null, ShelfDb? from = null, IBlobStore? store = null)
    {
        await using var own = Open();
        var db = from ?? own;
        return await new MakeBackup(db, store ?? Blobs, new DiskBlobFolders(Clock), copies ?? Copies, new KeepDeletions(db, Clock, Options.Create(Settings)), new KeepStops(db, Clock, Options.Create(Settings)), Paths, Clock, Options.Create(Settings)).RunAsync(default);
    }

    /// <summary>Backs up; answers the backup's name.</summary>
    public async Task<string> BackedUpAsync() => Assert.IsType<BackupOutcome.Made>(await BackUpAsync()).Name;

    public async Task<string?> KeepDeletionsAsync(ShelfDb? of = null)
    {
        await using var own = Open();
        return await new KeepDeletions(of ?? own, Clock, Options.Create(Settings)).RunAsync(default);
    }

    public async Task<string?> KeepStopsAsync()
    {
        await using var db = Open();
        return await new KeepStops(db, Clock, Options.Create(Settings)).RunAsync(default);
    }

    public async Task<bool> IsUnkeptAsync()
    {
        await using var db = Open();
        return await new FindUnkept(db, Clock, Options.Create(Settings)).RunAsync(default);
    }

    public async Task<bool> IsBackupDueAsync()
    {
        await using var db = Open();
        return await new FindBackupDue(db, Clock, Options.Create(Settings)).RunAsync("BackupJob", default);
    }

    public async Task<bool> StopBackupAsync()
    {
        await using var db = Open();
        return await new StopBackup(db, Clock).RunAsync("BackupJob", default);
    }

    public async Task<bool> WatchBackupsAsync()
    {
        await using var db = Open();
        return await new WatchBackups(db, Clock, Options.Create(Settings)).RunAsync(default);
    }

    public async Task<RestoreOutcome> RestoreAsync(string? name = null, bool withoutDamaged = false, DataPaths? into = null, bool isTrial = false, Action? between = null)
    {
        await using var db = Open();
        return await new RestoreBackup(db, new DiskBlobFolders(Clock), Copies, into ?? Restored, Clock, Options.Create(Settings)) { Between = between }.RunAsync(new(name, withoutDamaged, DatabaseIsRestored: true, isTrial), default);
    }

    /// <summary>The payment provider may know the next numbers from the shelf that was lost.</summary>
    public static async Task NumbersGoOnElsewhereAsync(ShelfDb restored)
    {
        var plan = new Plan { Minor = 900 };
        restored.AddRange(plan, new MonthCredit { Month = new(2026, 12), Reason = "Ill." });
        await restored.SaveChangesAsync();
        var change = new PriceChange { FromPlanId = plan.Id, ToPlanId = plan.Id };
        restored.AddRange(change, new Joining { PlanId = plan.Id, TokenHash = "h" });
        await restored.SaveChangesAsync();
        long[] numbers = [plan.Id, change.Id, (await restored.MonthCredits.SingleAsync()).Id, (await restored.Joinings.SingleAsync()).Id];
        Assert.All(numbers, n => Assert.InRange(n, 1_000_001, 1_000_003));
    }

    public string InPool(string sha256) => new DiskBlobStore(new DataPaths(Backups)).LocalPath(sha256)!;

    /// <summary>Changes one bit of a file, as a failing disk does.</summary>
    public static void Flip(string file)
    {
        var bytes = File.ReadAllBytes(file);
        bytes[bytes.Length / 2] ^= 1;
        File.SetAttributes(file, FileAttributes.Normal);
        File.WriteAllBytes(file, bytes);
    }

    public void Dispose()
    {
        database.Dispose();
        root.Delete(recursive: true);
    }
}

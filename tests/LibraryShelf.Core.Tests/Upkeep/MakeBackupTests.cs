using System.ComponentModel.DataAnnotations;
using System.Security.Cryptography;
using System.Text.Json;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

public sealed class MakeBackupTests
{
    [Fact]
    public async Task A_backup_says_what_it_holds_and_the_next_one_copies_only_what_is_new()
    {
        using var shelf = new UpkeepShelf();
        string[] hashes = [await shelf.StoreAsync("one"), await shelf.StoreAsync("two")];
        await File.WriteAllTextAsync(Path.Combine(shelf.Paths.Root, "practice.json"), "{}");
        Assert.Equal(new BackupOutcome.Made("2026-11-25T030000Z", 2, 2, 6, 0), await shelf.BackUpAsync());
        // What sha256sum says of "one" and of "{}".
        Assert.Contains("7692c3ad3540bb803c020b3aee66cd8887123234ea0c6e7143c0add73ff431ed", hashes);
        var manifest = Manifest(shelf, "2026-11-25T030000Z");
        Assert.Equal(hashes.Order(StringComparer.Ordinal), manifest.GetProperty("blobs").EnumerateObject().Select(b => b.Name));
        Assert.Equal("44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a", manifest.GetProperty("files")[0].GetProperty("sha256").GetString());
        var database = Path.Combine(shelf.Backups, "2026-11-25T030000Z", shelf.Copies.FileName);
        Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(await File.ReadAllBytesAsync(database))), manifest.GetProperty("database").GetProperty("sha256").GetString());
        Assert.Equal("one", await File.ReadAllTextAsync(shelf.InPool(hashes[0])));

        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.StoreAsync("three");
        Assert.Equal(new BackupOutcome.Made("2026-11-26T030000Z", 3, 1, 5, 0), await shelf.BackUpAsync());
    }

    /// <summary>Blobs come and are collected between the copying of blobs and that of the database.</summary>
    [Fact]
    public async Task Every_blob_the_copied_database_names_is_in_the_backup_whatever_comes_and_goes_meanwhile()
    {
        using var shelf = new UpkeepShelf();
        var (goesBefore, goesAfter, comes) = (await shelf.StoreAsync("collected before"), await shelf.StoreAsync("collected after"), "");
        var busy = new BusyCopies(shelf.Copies)
        {
            Before = async () =>
            {
                await CollectAsync(shelf, goesBefore);
                comes = await shelf.StoreAsync("came");
            },
            After = () => CollectAsync(shelf, goesAfter),
        };
        var made = Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync(busy));
        var named = Manifest(shelf, made.Name).GetProperty("blobs").EnumerateObject().Select(b => b.Name).ToHashSet();
        Assert.Subset(named, new HashSet<string> { goesAfter, comes });
        Assert.All(named, hash => Assert.True(File.Exists(shelf.InPool(hash))));
    }

    [Fact]
    public async Task A_backup_cut_off_is_none_and_the_next_run_tidies_and_uses_what_was_copied()
    {
        using var shelf = new UpkeepShelf();
        var hash = await shelf.StoreAsync("one");
        var first = await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.StoreAsync("two");
        var half = new BusyCopies(shelf.Copies) { After = () => throw new OperationCanceledException() };
        await Assert.ThrowsAsync<OperationCanceledException>(() => shelf.BackUpAsync(half));
        Assert.Equal([first], Whole(shelf));
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        var made = Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync());
        Assert.Equal((2, 0), (made.Blobs, made.NewBlobs));
        Assert.Equal(["blobs", first, made.Name], Directory.GetDirectories(shelf.Backups).Select(d => Path.GetFileName(d)).OrderBy(d => d != "blobs").ThenBy(d => d, StringComparer.Ordinal));
        Assert.True(File.Exists(shelf.InPool(hash)));
    }

    [Fact]
    public async Task Backups_go_when_they_are_old_with_what_only_they_name_but_never_the_newest()
    {
        using var shelf = new UpkeepShelf();
        shelf.Settings.Backup.KeepDays = 1;
        var gone = await shelf.StoreAsync("goes");
        await shelf.BackedUpAsync();
        await CollectAsync(shelf, gone);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        var kept = await shelf.BackedUpAsync();
        Assert.True(File.Exists(shelf.InPool(gone)));
        shelf.Clock.Advance(TimeSpan.FromDays(30));
        // The disk refuses: the newest whole one stays, though it is older than it is kept.
        var full = new BusyCopies(shelf.Copies) { Before = () => throw new IOException("No space left on device", 28) };
        var words = Assert.IsType<BackupOutcome.NotMade>(await shelf.BackUpAsync(full)).Words;
        Assert.Contains("no room left", words, StringComparison.Ordinal);
        Assert.Equal([kept], Whole(shelf));
        Assert.False(File.Exists(shelf.InPool(gone)));
    }

    /// <summary>By a clock a year ahead all are old; of those deleted, too, who may be in them nothing is forgotten.</summary>
    [Fact]
    public async Task A_clock_set_ahead_leaves_the_newest_seven_and_who_was_deleted_since_the_first_of_them()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Deletion { PersonId = 7, At = shelf.Now.AddDays(8) });
        List<string> made = [];
        for (var night = 0; night < 10; night++, shelf.Clock.Advance(TimeSpan.FromDays(1)))
            made.Add(await shelf.BackedUpAsync());
        shelf.Clock.Advance(TimeSpan.FromDays(400));
        Assert.Equal(3, Assert.IsType<BackupOutcome.Made>(await shelf.BackUpAsync()).Removed);
        Assert.Equal(made.Skip(3).Append("2028-01-09T030000Z"), Whole(shelf));
        Assert.Contains("\"personId\":7", await File.ReadAllTextAsync(Path.Combine(shelf.Backups, "deletions.jsonl")), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_the_shelfs_own_disk_has_lost_is_named_and_all_the_rest_is_backed_up()
    {
        using var shelf = new UpkeepShelf();
        var (whole, flipped, lost) = (await shelf.StoreAsync("whole"), await shelf.StoreAsync("flipped"), await shelf.StoreAsync("lost"));
        UpkeepShelf.Flip(shelf.Blobs.LocalPath(flipped)!);
        File.Delete(shelf.Blobs.LocalPath(lost)!);
        var made = Assert.IsType<BackupOutcome.MadeWithout>(await shelf.BackUpAsync());
        Assert.Equal(new[] { flipped, lost }.Order(StringComparer.Ordinal), made.Missing);
        Assert.Contains("2 of the shelf’s files", made.Words, StringComparison.Ordinal);
        Assert.Equal([whole], Manifest(shelf, made.Name).GetProperty("blobs").EnumerateObject().Select(b => b.Name));
    }

    [Fact]
    public async Task Where_no_disk_is_mounted_nothing_is_made_and_never_in_the_data_directory()
    {
        using var shelf = new UpkeepShelf();
        Directory.Delete(shelf.Backups);
        Assert.Contains("is not there", Assert.IsType<BackupOutcome.NotMade>(await shelf.BackUpAsync()).Words, StringComparison.Ordinal);
        Assert.False(Directory.Exists(shelf.Backups));
        shelf.Settings.Backup.Directory = "";
        Assert.IsType<BackupOutcome.Off>(await shelf.BackUpAsync());
        foreach (var (folder, isRefused) in new[] { ("/srv/shelf/backups", true), ("/srv/shelf", true), ("/srv/shelf-backups", false), ("/srv", false) })
        {
            var settings = new ShelfSettings { DataDirectory = "/srv/shelf/", Backup = { Directory = folder } };
            Assert.Equal(isRefused, settings.Validate(new ValidationContext(settings)).Any());
        }
    }

    private static JsonElement Manifest(UpkeepShelf shelf, string name) =>
        JsonDocument.Parse(File.ReadAllText(Path.Combine(shelf.Backups, name, "manifest.json"))).RootElement;

    private static IEnumerable<string> Whole(UpkeepShelf shelf) => Directory.GetDirectories(shelf.Backups)
        .Where(d => File.Exists(Path.Combine(d, "manifest.json"))).Select(d => Path.GetFileName(d)).Order(StringComparer.Ordinal);

    private static async Task CollectAsync(UpkeepShelf shelf, string hash)
    {
        await using var db = shelf.Open();
        await db.Blobs.Where(b => b.Sha256 == hash).ExecuteDeleteAsync();
        shelf.Blobs.Remove(hash, DateTimeOffset.MaxValue);
    }

    /// <summary>What happens around the copying of the database.</summary>
    private sealed class BusyCopies(IDatabaseCopies copies) : IDatabaseCopies
    {
        public Func<Task> Before { get; init; } = () => Task.CompletedTask;

        public Func<Task> After { get; init; } = () => Task.CompletedTask;

        public string FileName => copies.FileName;

        public bool IsDatabase => copies.IsDatabase;

        public async Task<string?> CopyAsync(string file, CancellationToken cancellationToken)
        {
            await Before();
            var why = await copies.CopyAsync(file, cancellationToken);
            await After();
            return why;
        }

        public Task<ShelfDb?> OpenAsync(string file, CancellationToken cancellationToken) => copies.OpenAsync(file, cancellationToken);

        public Task SkipNumbersAsync(ShelfDb restored, string table, CancellationToken cancellationToken) => copies.SkipNumbersAsync(restored, table, cancellationToken);
    }
}

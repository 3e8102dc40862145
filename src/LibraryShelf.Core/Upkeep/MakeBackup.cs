using System.Reflection;
using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Makes one backup: blobs not there yet, a copy of the database, the other files of the data directory, and last the manifest. A kill leaves the earlier
/// backups whole and at most a folder without a manifest, which the next run removes.
/// </summary>
/// <remarks>
/// Every blob the copied database names is in the backup, though blobs come and are collected meanwhile, because blobs are copied before the
/// database and again after it: what was there before is there, collected since or not; what came in between is younger than
/// <see cref="BlobRows.KeptFor"/> and not collected yet.
/// </remarks>
public sealed class MakeBackup(
    ShelfDb db, IBlobStore store, IBlobFolders blobFolders, IDatabaseCopies copies, KeepDeletions deletions, KeepStops stops, DataPaths paths, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<BackupOutcome> RunAsync(CancellationToken cancellationToken)
    {
        var set = settings.Value.Backup;
        if (set.Directory.Length == 0 || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return new BackupOutcome.Off();
        // Never made here: an empty place where a disk should be mounted would fill the wrong one.
        if (!Directory.Exists(set.Directory))
            return new BackupOutcome.NotMade(T($"No backup was made: the folder for backups, {set.Directory}, is not there. See that its disk is mounted, or make the folder. {Again}"));
        var far = await BackupFar.BeginAsync(db, clock, cancellationToken);
        try
        {
            await deletions.RunAsync(cancellationToken);
            await stops.RunAsync(cancellationToken);
            return await MakeAsync(new BackupFolder(set.Directory), far, cancellationToken);
        }
        catch (WorkStoppedException)
        {
            return new BackupOutcome.Stopped();
        }
        catch (Exception fault) when (fault is JsonException or InvalidDataException || DiskTrouble.WordsOf(fault) is not null)
        {
            var why = DiskTrouble.IsFull(fault) ? T("there is no room left where it goes") : fault.Message;
            return new BackupOutcome.NotMade(T($"No backup was made: {why.TrimEnd('.')}. Earlier backups are kept as they were. Look at {set.Directory}. {Again}"));
        }
        finally
        {
            await far.EndAsync();
        }
    }

    private static string Again => T("It is tried again each hour, and when you press Run now.");

    private async Task<BackupOutcome> MakeAsync(BackupFolder folder, BackupFar far, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var pool = new BlobPool(blobFolders.At(folder.Paths), store, far);
        var last = folder.NewestWhole(now)?.At;
        var removed = RemoveOld(folder, now);
        var before = await BlobsAsync(cancellationToken);
        await pool.TidyAsync(folder, before, cancellationToken);
        var expected = DatabaseBytes();
        // Copied, then read once more for its hash.
        far.Expect(pool.Missing(before) + 2 * expected);
        await pool.LookAgainAsync(folder, PoolPart.Since(last, now), cancellationToken);
        await pool.FillAsync(before, cancellationToken);

        var name = BackupFolder.NameOf(now);
        var to = Directory.CreateDirectory(folder.PathOf(name)).FullName;
        var isWhole = false;
        try
        {
            var counts = await CountsAsync(cancellationToken);
            var migration = (await db.Database.GetAppliedMigrationsAsync(cancellationToken)).LastOrDefault();
            if (await CopyDatabaseAsync(to, expected, far, cancellationToken) is { } why)
                return new BackupOutcome.NotMade(T($"No backup was made: {why} Earlier backups are kept as they were. {Again}"));
            var database = await BackupFolder.DescribeAsync(Path.Combine(to, copies.FileName), far.DoneAsync, cancellationToken);
            var files = await CopyOthersAsync(to, far, cancellationToken);

            var after = await BlobsAsync(cancellationToken);
            far.Expect(pool.Missing(after.Where(b => !before.ContainsKey(b.Key)).ToDictionary(StringComparer.Ordinal)));
            await pool.FillAsync(after, cancellationToken);
            string[] missing = [.. after.Where(b => !pool.Has(b.Key, b.Value)).Select(b => b.Key).Order(StringComparer.Ordinal)];
            var named = before.Concat(after).Where(b => pool.Has(b.Key, b.Value)).DistinctBy(b => b.Key).OrderBy(b => b.Key, StringComparer.Ordinal).ToDictionary(StringComparer.Ordinal);
            await folder.WriteAsync(name, new(BackupManifest.Current, now, Version, migration, database, files, named, missing, counts), cancellationToken);
            isWhole = true;
            // That one was stopped before is over.
            await db.Shops.Where(s => s.BackupStoppedAt != null).ExecuteUpdateAsync(s => s.SetProperty(x => x.BackupStoppedAt, (DateTimeOffset?)null), cancellationToken);
            string?[] words = [missing.Length == 0 ? null : WordsOf(missing), RottedWords([.. pool.Rotted.Except(missing).Order(StringComparer.Ordinal)], folder)];
            return Array.TrueForAll(words, w => w is null)
                ? new BackupOutcome.Made(name, named.Count, pool.NewBlobs, pool.NewBytes, removed) { Mended = pool.Mended }
                : new BackupOutcome.MadeWithout(name, missing, string.Join(' ', words.OfType<string>()));
        }
        finally
        {
            if (!isWhole)
                await DiskTrouble.TryAsync(() => Task.Run(() => Directory.Delete(to, recursive: true), CancellationToken.None));
        }
    }

    /// <summary>Of the shelf's own file; 0 where the database is a server's: how large its copy will be is not known.</summary>
    private long DatabaseBytes() => copies.IsDatabase ? LengthOf(paths.Database) : 0;

    private static long LengthOf(string file) => new FileInfo(file) is { Exists: true } there ? there.Length : 0;

    /// <returns>Why it could not be copied; null: it is.</returns>
    private async Task<string?> CopyDatabaseAsync(string to, long expected, BackupFar far, CancellationToken cancellationToken)
    {
        var file = Path.Combine(to, copies.FileName);
        if (await far.FollowAsync(stop => copies.CopyAsync(file, stop), () => Math.Min(LengthOf(file), expected), cancellationToken) is { } why)
            return why;
        var copied = LengthOf(file);
        far.Expect(2 * (copied - expected));
        await far.DoneAsync(copied, cancellationToken);
        return null;
    }

    private async Task<List<BackupFile>> CopyOthersAsync(string to, BackupFar far, CancellationToken cancellationToken)
    {
        var others = OtherFiles().ToList();
        far.Expect(2 * others.Sum(LengthOf));
        List<BackupFile> files = [];
        foreach (var file in others)
            files.Add(await BackupFolder.CopyAsync(file, Path.Combine(to, Path.GetFileName(file)), far.DoneAsync, cancellationToken));
        return files;
    }

    /// <summary>
    /// What a kill left, and what is older than it is kept. The newest whole ones stay whatever their age: by a clock set ahead all are old, and after a time
    /// without any the old ones are all there is.
    /// </summary>
    private int RemoveOld(BackupFolder folder, DateTimeOffset now)
    {
        var (all, days) = (folder.All(), settings.Value.Backup.KeepDays);
        var oldest = now - TimeSpan.FromDays(days);
        var old = all.Where(b => b.IsWhole).SkipLast(Math.Min(days, BackupSettings.LeastKept)).Where(b => b.At < oldest).ToList();
        foreach (var backup in old.Concat(all.Where(b => !b.IsWhole)))
            Directory.Delete(folder.PathOf(backup.Name), recursive: true);
        return old.Count;
    }

    private IEnumerable<string> OtherFiles() => Directory.EnumerateFiles(paths.Root)
        .Where(f => !Path.GetFileName(f).StartsWith(Path.GetFileName(paths.Database), StringComparison.Ordinal)).Order(StringComparer.Ordinal);

    private Task<Dictionary<string, long>> BlobsAsync(CancellationToken cancellationToken) =>
        db.Blobs.AsNoTracking().Select(b => new { b.Sha256, b.Size }).ToDictionaryAsync(b => b.Sha256, b => b.Size, StringComparer.Ordinal, cancellationToken);

    private async Task<Dictionary<string, int>> CountsAsync(CancellationToken cancellationToken) => new(StringComparer.Ordinal)
    {
        ["people"] = await db.Users.CountAsync(p => p.DeletedAt == null && p.MergedIntoId == null, cancellationToken),
        ["libraries"] = await db.Libraries.CountAsync(cancellationToken),
        ["releases"] = await db.Releases.CountAsync(cancellationToken),
        ["downloads"] = await db.Downloads.CountAsync(cancellationToken),
        ["payments"] = await db.Payments.CountAsync(cancellationToken),
    };

    private static string Version => typeof(MakeBackup).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "";

    /// <summary>What only earlier backups name: the shelf has it no more.</summary>
    private static string? RottedWords(string[] rotted, BackupFolder folder) => rotted.Length == 0 ? null
        : rotted.Length == 1
            ? T($"1 file that earlier backups name is not what it was when copied, and the shelf does not have it any more. The newest backup is whole all the same. "
                + $"The disk with the backups may be failing: have whoever runs the server look at it. Another copy of {folder.Root} may still have it; {folder.Rotted} names it.")
            : T($"{rotted.Length} files that earlier backups name are not what they were when copied, and the shelf does not have them any more. The newest backup is whole all the same. "
                + $"The disk with the backups may be failing: have whoever runs the server look at it. Another copy of {folder.Root} may still have them; {folder.Rotted} names them.");

    private static string WordsOf(string[] missing) => missing.Length == 1
        ? T($"The backup was made, but 1 of the shelf’s files could not be read from its own disk, or is not what it was when it came, and no earlier backup has it. "
            + $"Everything else is in it. The shelf’s disk may be failing: have whoever runs the server look at it, and send the folder again that has this file. The first: {missing[0]}.")
        : T($"The backup was made, but {missing.Length} of the shelf’s files could not be read from its own disk, or are not what they were when it came, and no earlier backup has them. "
            + $"Everything else is in it. The shelf’s disk may be failing: have whoever runs the server look at it, and send the folder again that has these files. The first: {missing[0]}.");
}

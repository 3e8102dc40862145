using System.Text.Json;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Makes an empty data directory a shelf again. Everything is put together in a folder aside, each byte held against its hash, and moved into place last;
/// the database, by which a data directory is a shelf, at the very end. The shelf starts quiet (<see cref="QuietShelf"/>).
/// </summary>
public sealed class RestoreBackup(ShelfDb db, IBlobFolders blobFolders, IDatabaseCopies copies, DataPaths paths, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    private static readonly TimeSpan ClocksDiffer = TimeSpan.FromDays(1);

    /// <summary>
    /// What the payment provider knows by its number here: a plan's price, a joining, a credit, a change of price. The lost shelf may have given the next numbers
    /// since, and the provider would take another plan, or another credit, for one it has.
    /// </summary>
    private static readonly string[] ToldByNumber = [nameof(ShelfDb.Plans), nameof(ShelfDb.Joinings), nameof(ShelfDb.MonthCredits), nameof(ShelfDb.PriceChanges)];

    /// <summary>Runs before each move and each clearing, where a kill may come.</summary>
    internal Action? Between { get; init; }

    public async Task<RestoreOutcome> RunAsync(RestoreWish wish, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(wish);
        var root = settings.Value.Backup.Directory;
        if (root.Length == 0 || !Directory.Exists(root))
            return Refuse($"There is no folder with backups{(root.Length == 0 ? "" : $" at {root}")}. Name it with --Shelf:Backup:Directory=FOLDER.");
        if (WhyNotEmpty() is { } full)
            return Refuse(full);
        var folder = new BackupFolder(root);
        try
        {
            if (Choose(folder, wish.Name) is not { } name)
                return Refuse(NoneWords(folder, wish.Name));
            var manifest = await folder.ReadAsync(name, cancellationToken);
            if (WhyNotReadable(manifest) is { } why)
                return Refuse(why);
            if (!copies.IsDatabase && !wish.DatabaseIsRestored)
                return Refuse($"The database comes first, by PostgreSQL's own program, into an empty database: pg_restore --no-owner --exit-on-error --dbname=… {Path.Combine(folder.PathOf(name), manifest.Database.Path)}\nThen run this again with --database-is-restored.");
            return await RestoreAsync(folder, name, manifest, wish, cancellationToken);
        }
        catch (Exception fault) when (fault is JsonException || DiskTrouble.WordsOf(fault) is not null)
        {
            return Refuse($"It was not restored: {fault.Message.TrimEnd('.')}. The backup is as it was, and the data directory is no shelf yet. Put that right, and run it again: it begins anew.");
        }
    }

    private static RestoreOutcome.Refused Refuse(string words) => new(words);

    /// <summary>A restore that was cut off may be begun anew; anything else that lies there may be somebody's.</summary>
    private string? WhyNotEmpty()
    {
        if (!Directory.Exists(paths.Root))
            return null;
        if (RestoredFolder.IsWhole(paths))
            return $"A backup is restored into {paths.Root} already; only the end of that was cut off. Nothing was done. Start the shelf.";
        var isUnfinished = RestoredFolder.IsCutOff(paths) && !File.Exists(paths.Database);
        // What a file system puts at its own top.
        var there = Directory.EnumerateFileSystemEntries(paths.Root).Select(e => Path.GetFileName(e)).Where(e => e != "lost+found").ToList();
        return there.Count == 0 || isUnfinished ? null
            : $"The data directory {paths.Root} is not empty: it holds {string.Join(", ", there.Order(StringComparer.Ordinal).Take(5))}. Nothing was done. Move it away, or name another with --Shelf:DataDirectory=FOLDER.";
    }

    /// <summary>The named one, or the latest. One that a clock set ahead has named after a day to come is the latest only where there is no other.</summary>
    private string? Choose(BackupFolder folder, string? name)
    {
        var whole = folder.All().Where(b => b.IsWhole && (name is null || b.Name == name)).ToList();
        return (whole.LastOrDefault(b => b.At <= clock.GetUtcNow() + ClocksDiffer) ?? whole.LastOrDefault())?.Name;
    }

    private static string NoneWords(BackupFolder folder, string? name)
    {
        var whole = folder.All().Where(b => b.IsWhole).Select(b => b.Name).ToList();
        return whole.Count == 0 ? $"{folder.Root} holds no whole backup. Nothing was done."
            : $"{folder.Root} holds no whole backup called {name}. Nothing was done. There are: {string.Join(", ", whole)}.";
    }

    private string? WhyNotReadable(BackupManifest manifest) =>
        manifest.Format != BackupManifest.Current || (manifest.Migration is { } last && !db.Database.GetMigrations().Contains(last, StringComparer.Ordinal))
            ? $"This backup was made by a later program ({manifest.Program}). Nothing was done. Install that one, or a later one, and restore with it."
            : manifest.Database.Path != copies.FileName
                ? $"This backup holds {manifest.Database.Path}, which the settings’ kind of database can’t be made from ({copies.FileName} can). Nothing was done. Look at Shelf:Database:Provider."
                : null;

    private async Task<RestoreOutcome> RestoreAsync(BackupFolder folder, string name, BackupManifest manifest, RestoreWish wish, CancellationToken cancellationToken)
    {
        ClearUnfinished();
        var aside = new DataPaths(paths.Restoring);
        foreach (var made in new[] { aside.Blobs, aside.Uploads, aside.Outbox })
            Directory.CreateDirectory(made);
        var damaged = await CopyFilesAsync(folder.PathOf(name), manifest, aside, cancellationToken);
        if (damaged.Count > 0)
            return Undo($"Nothing was restored: {string.Join(", ", damaged)} of the backup {name} is not what it was when it was made. The disk with the backups may be failing. Take an earlier backup: shelf-admin restore NAME.");
        var without = await CopyBlobsAsync(blobFolders.At(folder.Paths), blobFolders.At(aside), manifest, cancellationToken);
        if (without.Count > 0 && !wish.WithoutDamaged)
            return Undo($"Nothing was restored: {without.Count} of {manifest.Blobs.Count} files in the backup’s blobs folder are not what they were, or gone. The disk with the backups may be failing; another copy of that folder may have them. "
                + $"To restore all the rest, add --without-damaged: versions with such a file can’t be downloaded until it is sent again. They are:\n{string.Join('\n', without)}");
        if (await copies.OpenAsync(aside.Database, cancellationToken) is not { } restored)
            return Undo("Nothing was restored: the database of the settings is empty. Restore it first, as docs/operating.md says, and run this again.");
        Quieted quieted;
        await using (restored)
        {
            foreach (var table in ToldByNumber)
                await copies.SkipNumbersAsync(restored, table, cancellationToken);
            quieted = await new QuietShelf(restored, clock.GetUtcNow()).MakeAsync(wish.IsTrial, await DeletionsAsync(folder, cancellationToken), await StopsAsync(folder, manifest, cancellationToken), cancellationToken);
        }
        MoveIntoPlace(aside);
        return new RestoreOutcome.Restored(name, manifest, without, quieted.Deleted, quieted.Mails) { Tokens = quieted.Tokens, Stops = quieted.Stops, IsTrial = wish.IsTrial };
    }

    private static async Task<List<string>> CopyFilesAsync(string from, BackupManifest manifest, DataPaths aside, CancellationToken cancellationToken)
    {
        List<string> damaged = [];
        foreach (var file in manifest.Files.Append(manifest.Database))
        {
            // Names come from a file: nothing may lead out of the folder.
            var source = Path.Combine(from, Path.GetFileName(file.Path));
            if (!File.Exists(source) || await BackupFolder.CopyAsync(source, Path.Combine(aside.Root, Path.GetFileName(file.Path)), ToldStream.Nobody, cancellationToken) is var copied && (copied.Sha256 != file.Sha256 || copied.Bytes != file.Bytes))
                damaged.Add(file.Path);
        }
        return damaged;
    }

    /// <summary>The store hashes what it is given, and keeps it under that hash alone.</summary>
    private static async Task<List<string>> CopyBlobsAsync(IBlobStore pool, IBlobStore store, BackupManifest manifest, CancellationToken cancellationToken)
    {
        List<string> damaged = [];
        foreach (var sha256 in manifest.Blobs.Keys)
        {
            if (!pool.Has(sha256))
            {
                damaged.Add(sha256);
                continue;
            }
            await using var bytes = pool.Open(sha256);
            var stored = await store.PutAsync(bytes, cancellationToken);
            if (stored.Sha256 == sha256)
                continue;
            damaged.Add(sha256);
            store.Remove(stored.Sha256, DateTimeOffset.MaxValue);
        }
        return damaged;
    }

    /// <summary>All that are noted, however old: so may the backup be.</summary>
    private static async Task<IEnumerable<(long, DateTimeOffset, string?)>> DeletionsAsync(BackupFolder folder, CancellationToken cancellationToken) =>
        (await KeepDeletions.ReadAsync(folder.Deletions, cancellationToken)).Select(d => (d.PersonId, d.At, d.Payer));

    /// <summary>What was noted before the backup was made is in it.</summary>
    private static async Task<KeptStops?> StopsAsync(BackupFolder folder, BackupManifest manifest, CancellationToken cancellationToken) =>
        await KeptStops.ReadAsync(folder.Stops, cancellationToken) is { } stops && stops.At > manifest.MadeAt ? stops : null;

    private RestoreOutcome.Refused Undo(string words)
    {
        Directory.Delete(paths.Restoring, recursive: true);
        return Refuse(words);
    }

    private void ClearUnfinished()
    {
        if (!Directory.Exists(paths.Restoring))
            return;
        // It is there only while nothing else was: all of it is that restore's. It goes last, or a kill in between would leave what is nobody's.
        foreach (var entry in new DirectoryInfo(paths.Root).EnumerateFileSystemInfos().Where(e => e.Name != "lost+found").OrderBy(e => e.FullName == paths.Restoring).ToList())
        {
            Between?.Invoke();
            if (entry is DirectoryInfo folder) folder.Delete(recursive: true);
            else entry.Delete();
        }
    }

    private void MoveIntoPlace(DataPaths aside)
    {
        foreach (var entry in new DirectoryInfo(aside.Root).EnumerateFileSystemInfos().Where(e => e.FullName != aside.Database).ToList())
        {
            Between?.Invoke();
            var to = Path.Combine(paths.Root, entry.Name);
            if (entry is DirectoryInfo folder) folder.MoveTo(to);
            else File.Move(entry.FullName, to);
        }
        Between?.Invoke();
        if (File.Exists(aside.Database))
            File.Move(aside.Database, paths.Database);
        Between?.Invoke();
        Directory.Delete(aside.Root, recursive: true);
    }
}

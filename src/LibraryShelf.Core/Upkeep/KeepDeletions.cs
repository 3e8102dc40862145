using System.Text;
using System.Text.Json;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Writes who had themselves deleted beside the backups too, as numbers: the database is what a backup replaces, and a shelf restored from an older
/// one has to delete them again. As old as a backup can be, a line goes.
/// </summary>
public sealed class KeepDeletions(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>No backup is kept as long (<see cref="BackupSettings.KeepDays"/>), and a copy put away elsewhere should not be.</summary>
    public static readonly TimeSpan Kept = TimeSpan.FromDays(366);

    /// <summary>The file is read, added to and replaced; two at once would lose a line.</summary>
    private static readonly SemaphoreSlim Turn = new(1);

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <returns>Why they could not be kept, in words for the maker; null: they are, or no folder for backups is set.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var root = settings.Value.Backup.Directory;
        if (root.Length == 0)
            return null;
        if (!Directory.Exists(root))
            return $"Who was deleted could not be noted beside the backups: the folder {root} is not there. They are deleted here all the same, and noted with the next backup. See that its disk is mounted.";
        await Turn.WaitAsync(cancellationToken);
        try
        {
            var rows = await db.Deletions.AsNoTracking().Select(d => new KeptDeletion(d.PersonId, d.At)).ToListAsync(cancellationToken);
            return await DiskTrouble.TryAsync(() => AddAsync(new BackupFolder(root).Deletions, rows, cancellationToken)) is { } words
                ? $"Who was deleted could not be noted beside the backups, in {root}: {words} They are deleted here all the same, and noted with the next backup."
                : null;
        }
        finally
        {
            Turn.Release();
        }
    }

    /// <summary>Every line of the file; none when there is no file. Throws JsonException on a line that is none.</summary>
    internal static async Task<IReadOnlyList<KeptDeletion>> ReadAsync(string file, CancellationToken cancellationToken) => !File.Exists(file)
        ? []
        : [.. (await File.ReadAllLinesAsync(file, cancellationToken)).Where(l => l.Length > 0)
            .Select(l => JsonSerializer.Deserialize<KeptDeletion>(l, Json) ?? throw new JsonException($"{file} has a line that names nobody."))];

    private async Task AddAsync(string file, List<KeptDeletion> rows, CancellationToken cancellationToken)
    {
        var there = await ReadAsync(file, cancellationToken);
        var oldest = clock.GetUtcNow() - Kept;
        KeptDeletion[] all = [.. there.Concat(rows).Distinct().Where(d => d.At >= oldest).OrderBy(d => d.At).ThenBy(d => d.PersonId)];
        if (!all.SequenceEqual(there))
            await BackupFolder.WriteWholeAsync(file, async to => await to.WriteAsync(Encoding.UTF8.GetBytes(string.Concat(all.Select(d => JsonSerializer.Serialize(d, Json) + "\n"))), cancellationToken));
    }
}

/// <summary>One line: a person's number, and when they were deleted, to the millisecond, as the database keeps it.</summary>
internal sealed record KeptDeletion(long PersonId, DateTimeOffset At);

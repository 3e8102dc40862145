using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Writes who had themselves deleted beside the backups too, as numbers, and by which names they paid, as hashes: the database is what a backup replaces, and
/// a shelf restored from an older one has to delete them again. A line goes when it is as old as a backup can be, and older than any that is there.
/// </summary>
public sealed class KeepDeletions(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>No backup is kept as long (<see cref="BackupSettings.KeepDays"/>), and a copy put away elsewhere should not be.</summary>
    public static readonly TimeSpan Kept = TimeSpan.FromDays(366);

    /// <summary>The file is read, added to and replaced; two at once would lose a line.</summary>
    private static readonly SemaphoreSlim Turn = new(1);

    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web) { DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull };

    /// <returns>Why they could not be kept, in words for the maker; null: they are, or no folder for backups is set, or this shelf is only there to try one.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var root = settings.Value.Backup.Directory;
        if (root.Length == 0 || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return null;
        if (!Directory.Exists(root))
            return T($"Who was deleted could not be noted beside the backups: the folder {root} is not there. They are deleted here all the same, and noted as soon as it is. See that its disk is mounted.");
        await Turn.WaitAsync(cancellationToken);
        try
        {
            var rows = await db.Deletions.AsNoTracking().Select(d => new KeptDeletion(d.PersonId, d.At, d.Payer)).ToListAsync(cancellationToken);
            return await DiskTrouble.TryAsync(() => AddAsync(new BackupFolder(root), rows, cancellationToken)) is { } words
                ? T($"Who was deleted could not be noted beside the backups, in {root}: {words} They are deleted here all the same, and it is tried again by itself.")
                : null;
        }
        catch (JsonException damaged)
        {
            return T($"Who was deleted could not be noted beside the backups: {damaged.Message}. They are deleted here all the same, and it is tried again by itself.");
        }
        finally
        {
            Turn.Release();
        }
    }

    /// <summary>Every line of the file; none when there is no file. Throws JsonException on a damaged line: it may be somebody who was deleted.</summary>
    internal static async Task<IReadOnlyList<KeptDeletion>> ReadAsync(string file, CancellationToken cancellationToken) => !File.Exists(file)
        ? []
        : [.. (await File.ReadAllLinesAsync(file, cancellationToken)).Select((line, at) => (line, at)).Where(l => l.line.Length > 0).Select(l => Read(file, l.line, l.at + 1))];

    private static KeptDeletion Read(string file, string line, int number)
    {
        try
        {
            return JsonSerializer.Deserialize<KeptDeletion>(line, Json) ?? throw new JsonException(T("It names nobody."));
        }
        catch (JsonException bad)
        {
            throw new JsonException(T($"line {number} of {file} is damaged, and tells of somebody who was deleted. Take the file from another copy of the folder, or remove the line"), bad);
        }
    }

    private async Task AddAsync(BackupFolder folder, List<KeptDeletion> rows, CancellationToken cancellationToken)
    {
        var there = await ReadAsync(folder.Deletions, cancellationToken);
        // By a clock set ahead everything is old: what the oldest backup holds stays deletable.
        var oldest = clock.GetUtcNow() - Kept;
        if (folder.All().FirstOrDefault(b => b.IsWhole) is { } first && first.At < oldest)
            oldest = first.At;
        KeptDeletion[] all =
            [.. there.Concat(rows).Distinct().Where(d => d.At >= oldest).OrderBy(d => d.At).ThenBy(d => d.PersonId).ThenBy(d => d.Payer, StringComparer.Ordinal)];
        if (!all.SequenceEqual(there))
            await BackupFolder.WriteWholeAsync(folder.Deletions, async to => await to.WriteAsync(Encoding.UTF8.GetBytes(string.Concat(all.Select(d => JsonSerializer.Serialize(d, Json) + "\n"))), cancellationToken));
    }
}

/// <summary>One line: a person's number, and when they were deleted, to the millisecond, as the database keeps it; <paramref name="Payer"/> as in <see cref="Deletion.Payer"/>.</summary>
internal sealed record KeptDeletion(long PersonId, DateTimeOffset At, string? Payer);

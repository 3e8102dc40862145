using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Whether something waits to be noted beside the backups: somebody deleted, a mail stopped. False while the folder is not there: the backup itself says so,
/// and what could not be noted is, in the minute it is back.
/// </summary>
public sealed class FindUnkept(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        var root = settings.Value.Backup.Directory;
        if (root.Length == 0 || !Directory.Exists(root) || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return false;
        var folder = new BackupFolder(root);
        try
        {
            return await AreStopsNewAsync(folder, cancellationToken) || await AreDeletionsNewAsync(folder, cancellationToken);
        }
        catch (JsonException)
        {
            // Damaged: stops are written anew, and of deletions the maker is told.
            return true;
        }
    }

    private async Task<bool> AreStopsNewAsync(BackupFolder folder, CancellationToken cancellationToken)
    {
        var mark = await KeptStops.MarkAsync(db, cancellationToken);
        var noted = await KeptStops.ReadAsync(folder.Stops, cancellationToken);
        // Without a row there are no figures in it, and there need be no file.
        return noted?.Mark != mark && (noted is not null || mark.Any(char.IsAsciiDigit));
    }

    private async Task<bool> AreDeletionsNewAsync(BackupFolder folder, CancellationToken cancellationToken)
    {
        var oldest = clock.GetUtcNow() - KeepDeletions.Kept;
        var deletions = await db.Deletions.AsNoTracking().Where(d => d.At >= oldest).Select(d => new KeptDeletion(d.PersonId, d.At, d.Payer)).ToListAsync(cancellationToken);
        return deletions.Count > 0 && deletions.Except(await KeepDeletions.ReadAsync(folder.Deletions, cancellationToken)).Any();
    }
}

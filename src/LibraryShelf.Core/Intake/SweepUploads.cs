using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <param name="Removed">How many uploads are gone now.</param>
/// <param name="Trouble">Which files won't go, and why, in words for the maker; null: none.</param>
public sealed record SweptUploads(int Removed, string? Trouble);

/// <summary>
/// Removes uploads that nobody went on with (<see cref="UploadExpiry"/>), rows of uploads finished as long ago, and bytes without
/// a row. Reads only rows that are old enough, and at most <see cref="AtOnce"/> of them: it comes again in a minute. A file that
/// won't go keeps its row and is passed over.
/// </summary>
public sealed class SweepUploads(ShelfDb db, UploadDesk desk, TimeProvider clock)
{
    /// <summary>Rows of one run, few enough that the database's one writer is held for some milliseconds.</summary>
    public const int AtOnce = 500;

    /// <summary>Files that won't go, each with the disk's reason.</summary>
    private readonly List<(string Id, string Reason)> _stuck = [];

    public async Task<SweptUploads> RunAsync(CancellationToken cancellationToken)
    {
        _stuck.Clear();
        var before = clock.GetUtcNow() - UploadExpiry.KeptFor;
        var removed = await GivenUpAsync(before, cancellationToken)
            + await LongFinishedAsync(before, cancellationToken)
            + await WithoutRowAsync(before, cancellationToken);
        return new SweptUploads(removed, Words());
    }

    private string? Words()
    {
        if (_stuck.Count == 0)
            return null;
        var which = _stuck.Count == 1
            ? T($"A file of uploads that nobody went on with can’t be removed: uploads/{_stuck[0].Id}.")
            : T($"{_stuck.Count} files of uploads that nobody went on with can’t be removed: uploads/{_stuck[0].Id} and others.");
        return $"{which} {_stuck[0].Reason} " + T("They only take up room; nothing else is in trouble. Whoever runs the server gives the folder “uploads” and what is in it back to the shelf’s own user. It is tried again each minute.");
    }

    private async Task<int> GivenUpAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        // An upload expires at the earliest KeptFor after its start, so younger rows need no look at their files.
        var old = await db.Uploads.AsNoTracking()
            .Where(u => u.FinishedAt == null && u.CreatedAt < before)
            .OrderBy(u => u.CreatedAt).Take(AtOnce).ToListAsync(cancellationToken);
        var over = old.FindAll(u => UploadExpiry.IsOver(u, desk, clock.GetUtcNow()));
        var removed = 0;
        foreach (var upload in over)
            removed += await RemoveAsync(upload.Id, cancellationToken) ? 1 : 0;
        return removed;
    }

    /// <summary>A zip that still waits to be unpacked, or whose bytes still wait to be cleared, is not finished with.</summary>
    private async Task<int> LongFinishedAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var ids = await db.Uploads
            .Where(u => u.FinishedAt < before && (u.Kind == UploadKind.File || u.UnpackedAt != null || u.Trouble != null))
            .OrderBy(u => u.FinishedAt).Select(u => u.Id).Take(AtOnce).ToListAsync(cancellationToken);
        ids.RemoveAll(desk.HasBytes);
        return ids.Count == 0 ? 0 : await db.Uploads.Where(u => ids.Contains(u.Id)).ExecuteDeleteAsync(cancellationToken);
    }

    /// <summary>Left by a kill between bytes and row, or by a zip from a form whose sender went away.</summary>
    private async Task<int> WithoutRowAsync(DateTimeOffset before, CancellationToken cancellationToken)
    {
        var old = desk.AllBytes().Where(f => f.WrittenAt < before).Select(f => f.Id).Take(AtOnce).ToList();
        if (old.Count == 0)
            return 0;
        var known = await db.Uploads.Where(u => old.Contains(u.Id)).Select(u => u.Id).ToHashSetAsync(cancellationToken);
        var removed = 0;
        foreach (var id in old.Where(id => !known.Contains(id)))
            removed += await RemoveAsync(id, cancellationToken) ? 1 : 0;
        return removed;
    }

    private async Task<bool> RemoveAsync(string id, CancellationToken cancellationToken)
    {
        using var lease = desk.TryTake(id);
        if (lease is null)
            return false;
        lease.Forget();
        // Bytes first: a row whose file won't go is met again each minute, and told of as long as that is so.
        if (await DiskTrouble.TryAsync(() => Task.Run(() => desk.DeleteBytes(id), cancellationToken)) is { } reason)
        {
            _stuck.Add((id, reason));
            return false;
        }
        await db.Uploads.Where(u => u.Id == id && u.FinishedAt == null).ExecuteDeleteAsync(cancellationToken);
        return true;
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

public abstract record StopUnpackingOutcome
{
    private StopUnpackingOutcome() { }

    /// <summary>The draft is as it was; the release says so. Wake the unpacking of these uploads: it clears their bytes.</summary>
    public sealed record Stopped(IReadOnlyList<string> UploadIds) : StopUnpackingOutcome;

    /// <summary>Nothing was changed: no zip waits any more.</summary>
    public sealed record NotRunning : StopUnpackingOutcome;

    public sealed record NoSuchRelease : StopUnpackingOutcome;
}

/// <summary>
/// Stops the unpacking of a draft's zip, whether it runs or waits. The row says so at once, and the unpacking, which puts all files into the draft in its last
/// transaction or none, finds it there. What was stored of its files by then stays as long as anything nobody uses.
/// </summary>
public sealed class StopUnpacking(ShelfDb db)
{
    public async Task<StopUnpackingOutcome> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (!await db.Releases.AnyAsync(r => r.Id == releaseId, cancellationToken))
            return new StopUnpackingOutcome.NoSuchRelease();
        var zips = await WaitingZips.Of(db, releaseId).OrderBy(u => u.CreatedAt).ToListAsync(cancellationToken);
        if (zips.Count == 0)
            return new StopUnpackingOutcome.NotRunning();
        foreach (var zip in zips)
            zip.Trouble = await WordsAsync(zip, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        var words = zips[^1].Trouble;
        await db.Releases.Where(r => r.Id == releaseId && r.SealedAt == null).ExecuteUpdateAsync(r => r.SetProperty(x => x.Trouble, words).SetProperty(x => x.StoppedWords, words), cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new StopUnpackingOutcome.Stopped(zips.ConvertAll(z => z.Id));
    }

    private async Task<string> WordsAsync(Upload zip, CancellationToken cancellationToken)
    {
        var name = FolderRules.Shown(zip.Path);
        var stopped = await ProgressNotes.ReadAsync(db, ProgressNotes.Unpack(zip.Id), cancellationToken) is { Total: > 0 } at
            ? T($"You stopped the unpacking of {name} at {at.Done} of {at.Total} {Say.Noun(at.Total, "file", "files")}.") : T($"You stopped the unpacking of {name}.");
        return T($"{stopped} The draft is as it was, and the zip is not kept. What was unpacked of it stays a week. To go on, send the folder itself within that time, and only the rest travels.");
    }
}

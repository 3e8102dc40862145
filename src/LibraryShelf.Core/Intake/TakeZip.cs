using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

public abstract record TakeZipOutcome
{
    private TakeZipOutcome() { }

    /// <summary>All bytes are in; the zip waits to be unpacked.</summary>
    public sealed record Taken(string UploadId) : TakeZipOutcome;

    public sealed record NoSuchRelease : TakeZipOutcome;

    /// <summary>The disk refused; nothing of it is kept.</summary>
    public sealed record NoRoom(string Message) : TakeZipOutcome;

    /// <summary>Why it was not taken; nothing of it is kept.</summary>
    public sealed record Refused(string Message) : TakeZipOutcome;
}

/// <summary>Takes a whole .zip in one go, from a form that can't resume. Its length is known only at its end, so the row comes last.</summary>
public sealed class TakeZip(ShelfDb db, UploadDesk desk, DiskReserve reserve, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    public async Task<TakeZipOutcome> RunAsync(long releaseId, string fileName, Stream content, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(content);
        var release = await db.Releases.AsNoTracking().SingleOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new TakeZipOutcome.NoSuchRelease();
        if (DraftContents.WhyClosed(release) is { } closed)
            return new TakeZipOutcome.Refused(closed);
        var id = UploadDesk.NewId();
        var kept = false;
        try
        {
            var most = settings.Value.Intake.MaxUploadBytes;
            var whole = await desk.WriteAsync(id, content, most, () => reserve.WhyNoMore(fileName), cancellationToken);
            if (whole.Refused is { } words)
                return NoRoom(fileName, words);
            if (whole.Length > most)
                return new TakeZipOutcome.Refused(T($"{FolderRules.Shown(fileName)} is larger than {most:N0} bytes, the most this shelf takes in one upload. Nothing was kept."));
            if (whole.Length == 0)
                return new TakeZipOutcome.Refused(T("No zip was chosen, or it is empty. Choose the .zip that holds the recordings."));
            if (await DiskTrouble.TryAsync(() => RecordAsync(id, releaseId, fileName, whole.Length, cancellationToken)) is { } unwritten)
                return NoRoom(fileName, unwritten);
            kept = true;
            return new TakeZipOutcome.Taken(id);
        }
        finally
        {
            if (!kept)
                desk.DeleteBytes(id);
        }
    }

    private static TakeZipOutcome.NoRoom NoRoom(string fileName, string words) =>
        new(T($"{words} {FolderRules.Shown(fileName)} was not kept, and the draft is as it was. Make room on the shelf’s disk, then send the zip again."));

    private async Task RecordAsync(string id, long releaseId, string fileName, long length, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        db.Uploads.Add(new Upload
        {
            Id = id,
            ReleaseId = releaseId,
            Kind = UploadKind.Zip,
            Path = FolderRules.WhyPathRefused(fileName) is null ? fileName : "folder.zip",
            Length = length,
            CreatedAt = now,
            FinishedAt = now,
        });
        await db.SaveChangesAsync(cancellationToken);
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Intake;

/// <summary>What is about to be sent. Length in bytes, at least 0; <paramref name="Metadata"/> is the sender's own header text.</summary>
public sealed record UploadWish(long ReleaseId, UploadKind Kind, string Path, long Length, string? Sha256, string Metadata = "");

public abstract record StartUploadOutcome
{
    private StartUploadOutcome() { }

    /// <summary>Bytes may come until <paramref name="ExpiresAt"/>; each one that comes puts that off.</summary>
    public sealed record Started(string UploadId, DateTimeOffset ExpiresAt) : StartUploadOutcome;

    public sealed record NoSuchRelease : StartUploadOutcome;

    /// <summary>The release is sealed or being sealed.</summary>
    public sealed record Closed(string Message) : StartUploadOutcome;

    /// <summary>Longer than one upload, or than what is left of the version's room, may be.</summary>
    public sealed record TooLarge(string Message) : StartUploadOutcome;

    /// <summary>There is no room for it, or the disk refused the row; nothing was begun.</summary>
    public sealed record NoRoom(string Message) : StartUploadOutcome;

    /// <summary>A path or a hash that can't be.</summary>
    public sealed record Refused(string Message) : StartUploadOutcome;
}

/// <summary>Opens a resumable upload into a draft. Nothing of the draft changes until its last byte is in.</summary>
public sealed class StartUpload(ShelfDb db, DiskReserve reserve, IOptions<ShelfSettings> settings, TimeProvider clock)
{
    private IntakeSettings Limits => settings.Value.Intake;

    public async Task<StartUploadOutcome> RunAsync(UploadWish wish, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(wish);
        var release = await db.Releases.AsNoTracking().SingleOrDefaultAsync(r => r.Id == wish.ReleaseId, cancellationToken);
        if (release is null)
            return new StartUploadOutcome.NoSuchRelease();
        if (DraftContents.WhyClosed(release) is { } closed)
            return new StartUploadOutcome.Closed(closed);
        if (WhyRefused(wish) is { } reason)
            return new StartUploadOutcome.Refused(reason);
        if (await WhyTooLargeAsync(wish, cancellationToken) is { } tooLarge)
            return new StartUploadOutcome.TooLarge(tooLarge);
        if (reserve.WhyNoUpload(wish.Path, wish.Length) is { } full)
            return NoRoom(wish, full);
        var upload = new Upload
        {
            Id = UploadDesk.NewId(),
            ReleaseId = wish.ReleaseId,
            Kind = wish.Kind,
            Path = wish.Path,
            Length = wish.Length,
            ExpectedSha256 = wish.Sha256,
            Metadata = wish.Metadata,
            CreatedAt = clock.GetUtcNow(),
        };
        db.Uploads.Add(upload);
        if (await DiskTrouble.TryAsync(() => db.SaveChangesAsync(cancellationToken)) is { } words)
            return NoRoom(wish, words);
        return new StartUploadOutcome.Started(upload.Id, UploadExpiry.Of(upload.CreatedAt, writtenAt: null));
    }

    private static StartUploadOutcome.NoRoom NoRoom(UploadWish wish, string why) =>
        new(T($"{why} {FolderRules.Shown(wish.Path)} was not begun; everything sent before is kept. Make room on the shelf’s disk, then send again."));

    private static string? WhyRefused(UploadWish wish)
    {
        if (wish.Sha256 is not null && !ContentHash.IsValid(wish.Sha256))
            return T($"{FolderRules.Shown(wish.Path)}: sha256 must be 64 lower-case hex digits.");
        return FolderRules.WhyPathRefused(wish.Path);
    }

    private async Task<string?> WhyTooLargeAsync(UploadWish wish, CancellationToken cancellationToken)
    {
        if (wish.Length > Limits.MaxUploadBytes)
            return T($"{FolderRules.Shown(wish.Path)} has {wish.Length:N0} bytes; this shelf takes uploads up to {Limits.MaxUploadBytes:N0} bytes. Nothing was sent.");
        // What is in a zip may shrink it, never grow it beyond its own records.
        if (wish.Kind == UploadKind.Zip)
            return wish.Length / 2 > Limits.MaxReleaseBytes
                ? T($"{FolderRules.Shown(wish.Path)} has {wish.Length:N0} bytes; a version may hold {Limits.MaxReleaseBytes:N0} bytes on this shelf. Nothing was sent.")
                : null;
        return await VersionRoom.WhyOverAsync(db, Limits, wish.ReleaseId, wish.Path, wish.Length, cancellationToken);
    }
}

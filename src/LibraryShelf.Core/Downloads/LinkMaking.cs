using System.Buffers.Text;
using System.Security.Cryptography;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>Writes a download's row and signs its link. Whether the person may have the archive was asked before.</summary>
internal sealed class LinkMaking(ShelfDb db, TimeProvider clock, LinkSettings settings, WhoAsks? who)
{
    private const int IdBytes = 16; // 128 bits: can't be guessed, needs no check for doubles

    public async Task<MakeLinkOutcome.Made> MakeAsync(Archive archive, long? personId, MayDownloadWhy why, CancellationToken cancellationToken)
    {
        var key = await new LinkKeyRing(db, clock).SigningKeyAsync(cancellationToken);
        var libraryId = await db.Releases.Where(r => r.Id == archive.ReleaseId).Select(r => r.LibraryId).FirstAsync(cancellationToken);
        var download = NewDownload(archive, libraryId, personId, why);
        db.Downloads.Add(download);
        await db.SaveChangesAsync(cancellationToken);
        return new MakeLinkOutcome.Made(Sign(download, archive, key), download.Id, download.StartBy, download.FinishBy);
    }

    private Download NewDownload(Archive archive, long libraryId, long? personId, MayDownloadWhy why)
    {
        var now = clock.GetUtcNow();
        // Whole seconds, because the link carries them; rounded down, so that it never promises more than it keeps.
        var startBy = DateTimeOffset.FromUnixTimeSeconds((now + TimeSpan.FromMinutes(settings.StartMinutes)).ToUnixTimeSeconds());
        return new Download
        {
            Id = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(IdBytes)),
            ArchiveId = archive.Id, ReleaseId = archive.ReleaseId, LibraryId = libraryId, FromReleaseId = archive.FromReleaseId, DropId = archive.DropId,
            PersonId = personId, Why = why, MadeAt = now,
            Visitor = personId is null ? who?.Visitor : null, IsRobot = personId is null && who is { IsRobot: true },
            StartBy = startBy, FinishBy = startBy + TimeSpan.FromHours(settings.ResumeHours),
        };
    }

    private static string Sign(Download download, Archive archive, LinkKey key)
    {
        var link = new DownloadLink(download.Id, archive.FileName,
            download.StartBy.ToUnixTimeSeconds(), download.FinishBy.ToUnixTimeSeconds(), key.Id, Mac: "");
        return LinkText.Write(link with { Mac = LinkSigner.Sign(key.Secret, link, download.PersonId, archive.RecipeSha256) });
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Downloads;

/// <summary>What is wrong with a link that opens nothing.</summary>
public enum LinkTrouble
{
    /// <summary>Not written as ours are, or not signed by us with these fields.</summary>
    Altered,
    /// <summary>There is no such download.</summary>
    Unknown,
    /// <summary>Nothing was started while it could be.</summary>
    StartRunOut,
    /// <summary>It was started, but the time to resume it is over.</summary>
    ResumeRunOut,
    Revoked,
    /// <summary>It has handed over its archive as many times as a link may: <see cref="LinkSettings.MostDownloads"/>.</summary>
    UsedUp,
    /// <summary>So much is running through it at this moment that nothing more is begun; passes by itself.</summary>
    TooManyAtOnce,
    /// <summary>The maker has taken this version off the shelf.</summary>
    Withdrawn,
    /// <summary>The archive or its recipe is not in the store: a fault on the shelf's side.</summary>
    Gone,
}

/// <summary>
/// What a refused link was for. <paramref name="IsOnShelf"/>: the box has a published version, so that its page can be shown.
/// </summary>
public sealed record LinkAbout(
    string Slug, string Title, string Number, bool IsOnShelf, DateTimeOffset MadeAt, DateTimeOffset StartBy, DateTimeOffset FinishBy);

/// <summary>What a request with a link comes to.</summary>
public abstract record OpenLinkOutcome
{
    private OpenLinkOutcome() { }

    /// <summary>The link is good: any bytes of <paramref name="Layout"/> may go out, with <paramref name="Use"/> told of them.</summary>
    public sealed record Open(Download Download, Archive Archive, ArchiveLayout Layout, LinkAbout About, LinkUse Use) : OpenLinkOutcome;

    /// <summary>No bytes. <paramref name="About"/> is null when the download is not known.</summary>
    public sealed record Refused(LinkTrouble Trouble, LinkAbout? About) : OpenLinkOutcome;
}

/// <summary>
/// Verifies a link: its writing, its signature, its times, and the row, which is read on every request so that revoking
/// works at once. Changes nothing; <see cref="StartDownload"/> marks the start.
/// </summary>
public sealed class OpenLink(ShelfDb db, ArchiveLayouts layouts, LinkUses uses, TimeProvider clock)
{
    /// <param name="pathAndQuery">As it came over the wire, undecoded, from <c>/get/</c> on.</param>
    public async Task<OpenLinkOutcome> RunAsync(string pathAndQuery, CancellationToken cancellationToken)
    {
        var link = LinkText.Read(pathAndQuery);
        if (link is null) return new OpenLinkOutcome.Refused(LinkTrouble.Altered, About: null);
        var found = await FindAsync(link, cancellationToken);
        if (found is null) return new OpenLinkOutcome.Refused(LinkTrouble.Unknown, About: null);
        if (Judge(link, found) is { } trouble) return new OpenLinkOutcome.Refused(trouble, found.About);

        var archive = found.Archive!;
        var use = await uses.OfAsync(db, found.Download, archive.Length, cancellationToken);
        if (use.IsUsedUp) return new OpenLinkOutcome.Refused(LinkTrouble.UsedUp, found.About);
        return await layouts.FindAsync(archive.RecipeSha256, cancellationToken) is { } layout
            ? new OpenLinkOutcome.Open(found.Download, archive, layout, found.About, use)
            : new OpenLinkOutcome.Refused(LinkTrouble.Gone, found.About);
    }

    private sealed record Found(Download Download, Archive? Archive, LinkKey? Key, ReleaseState State, LinkAbout About);

    /// <summary>All that is to be known in one question: it is asked on every request.</summary>
    private Task<Found?> FindAsync(DownloadLink link, CancellationToken cancellationToken) =>
        (from d in db.Downloads.AsNoTracking()
         where d.Id == link.DownloadId
         join r in db.Releases on d.ReleaseId equals r.Id
         join l in db.Libraries on d.LibraryId equals l.Id
         join a in db.Archives.AsNoTracking() on d.ArchiveId equals a.Id into archives
         from a in archives.DefaultIfEmpty()
         from k in db.LinkKeys.AsNoTracking().Where(k => k.Id == link.KeyId).DefaultIfEmpty()
         select new Found(d, a, k, r.State, new LinkAbout(l.Slug, l.Title, r.Number,
             db.Releases.Any(other => other.LibraryId == l.Id && other.State == ReleaseState.Published), d.MadeAt, d.StartBy, d.FinishBy)))
        .FirstOrDefaultAsync(cancellationToken);

    private LinkTrouble? Judge(DownloadLink link, Found found)
    {
        // Without its archive there is nothing to compare with, and nothing to send.
        if (found.Archive is null) return LinkTrouble.Gone;
        var (download, now) = (found.Download, clock.GetUtcNow());
        if (found.Key is not { } key || !LinkKeyRing.Verifies(key, now))
            // A link may outlast its key; then it can't be told from an altered one, but that its time is over is true of both.
            return RunOut(download, now) ?? LinkTrouble.Altered;
        if (!LinkSigner.IsGenuine(key.Secret, link, download.PersonId, found.Archive.RecipeSha256)) return LinkTrouble.Altered;
        if (download.RevokedAt is not null) return LinkTrouble.Revoked;
        if (found.State == ReleaseState.Withdrawn && download.Why != MayDownloadWhy.Maker) return LinkTrouble.Withdrawn;
        return RunOut(download, now);
    }

    private static LinkTrouble? RunOut(Download download, DateTimeOffset now)
    {
        if (download.StartedAt is null && now >= download.StartBy) return LinkTrouble.StartRunOut;
        return now >= download.FinishBy ? LinkTrouble.ResumeRunOut : null;
    }
}

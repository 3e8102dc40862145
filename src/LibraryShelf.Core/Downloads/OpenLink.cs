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

/// <summary>What a request with a link comes to.</summary>
public abstract record OpenLinkOutcome
{
    private OpenLinkOutcome() { }

    /// <summary>The link is good: any bytes of <paramref name="Layout"/> may go out, with <paramref name="Use"/> told of them.</summary>
    public sealed record Open(Download Download, Archive Archive, ArchiveLayout Layout, LinkUse Use) : OpenLinkOutcome;

    /// <summary>No bytes. The id is of the download meant, as far as the link says; <see cref="ReadLinkAbout"/> tells what it was for.</summary>
    public sealed record Refused(LinkTrouble Trouble, string? DownloadId) : OpenLinkOutcome;
}

/// <summary>
/// Verifies a link: its writing, its signature, its times, and the row, which is read on every request so that revoking
/// works at once. Changes nothing; <see cref="StartDownload"/> marks the start.
/// </summary>
/// <param name="db">The shelf.</param>
/// <param name="layouts">Of archives lately sent.</param>
/// <param name="uses">Of links lately asked for.</param>
/// <param name="clock">Now.</param>
/// <param name="turns">Who waits for a turn to download: the time to start does not run out meanwhile. Null: nobody waits.</param>
public sealed class OpenLink(ShelfDb db, ArchiveLayouts layouts, LinkUses uses, TimeProvider clock, DownloadTurns? turns = null)
{
    /// <param name="pathAndQuery">As it came over the wire, undecoded, from <c>/get/</c> on.</param>
    public async Task<OpenLinkOutcome> RunAsync(string pathAndQuery, CancellationToken cancellationToken)
    {
        var link = LinkText.Read(pathAndQuery);
        if (link is null) return new OpenLinkOutcome.Refused(LinkTrouble.Altered, DownloadId: null);
        var found = await Find.For(db)(db, link.DownloadId, link.KeyId, cancellationToken);
        if (found is null) return new OpenLinkOutcome.Refused(LinkTrouble.Unknown, DownloadId: null);
        if ((await JudgeAsync(link, found, cancellationToken) ?? await JudgeMonthAsync(found.Download, cancellationToken)) is { } trouble) return new OpenLinkOutcome.Refused(trouble, link.DownloadId);

        var archive = found.Archive!;
        var use = await uses.OfAsync(db, found.Download, archive.Length, cancellationToken);
        if (use.IsUsedUp) return new OpenLinkOutcome.Refused(LinkTrouble.UsedUp, link.DownloadId);
        return await layouts.FindAsync(archive.RecipeSha256, cancellationToken) is { } layout
            ? new OpenLinkOutcome.Open(found.Download, archive, layout, use)
            : new OpenLinkOutcome.Refused(LinkTrouble.Gone, link.DownloadId);
    }

    private sealed record Found(Download Download, Archive? Archive, LinkKey? Key, ReleaseState State);

    /// <summary>All that is to be known in one question: it is asked on every request, and working it out anew would take as long as its answer.</summary>
    private static readonly CompiledQuestion<Func<ShelfDb, string, int, CancellationToken, Task<Found?>>> Find = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, string downloadId, int keyId, CancellationToken _) =>
            (from d in db.Downloads.AsNoTracking()
             where d.Id == downloadId
             join r in db.Releases on d.ReleaseId equals r.Id
             join a in db.Archives.AsNoTracking() on d.ArchiveId equals a.Id into archives
             from a in archives.DefaultIfEmpty()
             from k in db.LinkKeys.AsNoTracking().Where(k => k.Id == keyId).DefaultIfEmpty()
             select new Found(d, a, k, r.State)).FirstOrDefault()));

    /// <summary>A link names whom it was made for, and two accounts may have become one since: then it is held against those that joined, too.</summary>
    private async Task<LinkTrouble?> JudgeAsync(DownloadLink link, Found found, CancellationToken cancellationToken)
    {
        var trouble = Judge(link, found, found.Download.PersonId);
        if (trouble != LinkTrouble.Altered || found.Download.PersonId is not { } owner)
            return trouble;
        foreach (var joined in await db.Users.Where(p => p.MergedIntoId == owner).Select(p => p.Id).ToListAsync(cancellationToken))
        {
            if (Judge(link, found, joined) is var other && other != LinkTrouble.Altered)
                return other;
        }
        return trouble;
    }

    private LinkTrouble? Judge(DownloadLink link, Found found, long? personId)
    {
        // Without its archive there is nothing to compare with, and nothing to send.
        if (found.Archive is null) return LinkTrouble.Gone;
        var (download, now) = (found.Download, clock.GetUtcNow());
        if (found.Key is not { } key || !LinkKeyRing.Verifies(key, now))
            // A link may outlast its key; then it can't be told from an altered one, but that its time is over is true of both.
            return RunOut(download, now) ?? LinkTrouble.Altered;
        if (!LinkSigner.IsGenuine(key.Secret, link, personId, found.Archive.RecipeSha256)) return LinkTrouble.Altered;
        if (download.RevokedAt is not null) return LinkTrouble.Revoked;
        if (found.State == ReleaseState.Withdrawn && download.Why != MayDownloadWhy.Maker) return LinkTrouble.Withdrawn;
        return RunOut(download, now);
    }

    /// <summary>Of a month the row names one version alone; a withdrawal of any other stops it as well. Asked apart, because hardly a link is one of these.</summary>
    private async Task<LinkTrouble?> JudgeMonthAsync(Download download, CancellationToken cancellationToken) =>
        download is { DropId: { } drop, Why: not MayDownloadWhy.Maker } && await MonthVersions.AnyWithdrawnAsync(db, drop, cancellationToken) ? LinkTrouble.Withdrawn : null;

    private LinkTrouble? RunOut(Download download, DateTimeOffset now)
    {
        if (download.StartedAt is null && now >= download.StartBy && turns?.Holds(download.Id) is not true) return LinkTrouble.StartRunOut;
        return now >= download.FinishBy ? LinkTrouble.ResumeRunOut : null;
    }
}

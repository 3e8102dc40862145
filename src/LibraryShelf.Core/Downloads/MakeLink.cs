using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Downloads;

/// <summary>What the download button comes to.</summary>
public abstract record MakeLinkOutcome
{
    private MakeLinkOutcome() { }

    /// <summary>A link was made: send the client to <paramref name="Path"/> (path and query, to be used as it is).</summary>
    public sealed record Made(string Path, string DownloadId, DateTimeOffset StartBy, DateTimeOffset FinishBy) : MakeLinkOutcome;

    /// <summary>No link, no row; <paramref name="Why"/> says what to tell the person.</summary>
    public sealed record Refused(MayDownloadWhy Why) : MakeLinkOutcome;

    /// <summary>No link, no row: there is no update from that version; <paramref name="Why"/> in words for the person.</summary>
    public sealed record NoUpdate(string Why) : MakeLinkOutcome;
}

/// <summary>Makes a signed link to a release's whole library, or to the update to it from an earlier version, when the button is pressed and this person may have it.</summary>
public sealed class MakeLink(ShelfDb db, ReadRights rights, FindUpdate findUpdate, TimeProvider clock, IOptions<ShelfSettings> settings, WhoAsks? who = null)
{
    /// <param name="releaseId">One that is not there is refused as not on the shelf.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="fromReleaseId">The version the person has: the update from it. Null: the whole library. The right needed is the same.</param>
    /// <param name="cancellationToken">Stops before anything is written.</param>
    public async Task<MakeLinkOutcome> RunAsync(long releaseId, long? personId, long? fromReleaseId, CancellationToken cancellationToken)
    {
        var why = await rights.RunAsync(releaseId, personId, cancellationToken);
        if (!MayDownload.IsYes(why)) return new MakeLinkOutcome.Refused(why);
        if (fromReleaseId is { } from)
        {
            if (!await MayHaveAsync(from, personId, cancellationToken))
                return new MakeLinkOutcome.NoUpdate(T("There is no update from that version. Take the whole library."));
            return await findUpdate.RunAsync(releaseId, from, cancellationToken) switch
            {
                FindUpdateOutcome.Found found => await LinkAsync(found.Archive, personId, why, cancellationToken),
                FindUpdateOutcome.None none => new MakeLinkOutcome.NoUpdate(none.Why),
                _ => throw new InvalidOperationException("An update is found or there is none."),
            };
        }
        var archive = await db.Archives.AsNoTracking()
            .Where(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full)
            .OrderByDescending(a => a.Id).FirstOrDefaultAsync(cancellationToken);
        return archive is null ? new MakeLinkOutcome.Refused(MayDownloadWhy.NotOnTheShelf) : await LinkAsync(archive, personId, why, cancellationToken);
    }

    /// <summary>An update names the files of the version it is from, so that one must be no secret to this person: it was on the shelf, or they may take or took it.</summary>
    private async Task<bool> MayHaveAsync(long fromReleaseId, long? personId, CancellationToken cancellationToken) =>
        await db.Releases.AnyAsync(r => r.Id == fromReleaseId && r.PublishedAt != null, cancellationToken)
        || MayDownload.IsYes(await rights.RunAsync(fromReleaseId, personId, cancellationToken))
        || (personId is not null && await db.Downloads.AnyAsync(d => d.ReleaseId == fromReleaseId && d.PersonId == personId && d.StartedAt != null, cancellationToken));

    private async Task<MakeLinkOutcome> LinkAsync(Archive archive, long? personId, MayDownloadWhy why, CancellationToken cancellationToken) =>
        await new LinkMaking(db, clock, settings.Value.Links, who).MakeAsync(archive, personId, why, cancellationToken);
}

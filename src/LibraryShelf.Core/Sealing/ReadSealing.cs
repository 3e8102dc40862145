using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// What the seal page tells: how ready an unsealed release is, or the full archive of a sealed one, and who its library is for now
/// (null: not decided).
/// </summary>
public sealed record SealStanding(Readiness? Readiness, Archive? Archive, Audience? Audience)
{
    /// <summary>What it is compared with before it is sealed; null: it is not being sealed, or that is done.</summary>
    public ComparingFirst? Comparing { get; init; }

    /// <summary>How far the archive is read through, in bytes; null: it is not being read.</summary>
    public Progress? Reading { get; init; }

    /// <summary>What can be heard of it on its library's page is still to be made.</summary>
    public bool IsUnheard { get; init; }

    /// <summary>The maker does not want that made now; null: she said nothing of it, or it is made.</summary>
    public DateTimeOffset? ListenHeldAt { get; init; }

    /// <summary>How far the making of that is, in sounds; null: it has not begun.</summary>
    public Progress? Listening { get; init; }
}

/// <summary>The sealed version that one is held against before it is sealed, and how far that is, in recordings; null: it has not begun.</summary>
public sealed record ComparingFirst(long FromReleaseId, string FromNumber, Progress? Far);

/// <summary>Reads where a release stands with its sealing; null when there is none of that id.</summary>
public sealed class ReadSealing(ShelfDb db, TimeProvider clock)
{
    public async Task<SealStanding?> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var archive = await db.Archives.AsNoTracking()
            .FirstOrDefaultAsync(a => a.ReleaseId == releaseId && a.Kind == ArchiveKind.Full, cancellationToken);
        var readiness = release.IsSealed ? null : await SealReadiness.LookAsync(db, release, cancellationToken);
        var isUnheard = release.State == ReleaseState.Published && (await new FindUnheard(db, clock).RunAsync(cancellationToken)).Releases.Contains(releaseId);
        return new SealStanding(readiness, archive, release.Library.AudienceAt(clock.GetUtcNow()))
        {
            Comparing = release is { IsSealed: false, SealAskedAt: not null } ? await ComparingAsync(releaseId, cancellationToken) : null,
            Reading = archive is { Sha256: null, ReadStoppedAt: null } ? await ProgressNotes.ReadAsync(db, ProgressNotes.Digest(archive.Id), cancellationToken) : null,
            IsUnheard = isUnheard,
            ListenHeldAt = release.State == ReleaseState.Published && !await FindUnheard.IsDoneAsync(db, releaseId, clock.GetUtcNow(), cancellationToken) ? release.ListenHeldAt : null,
            Listening = isUnheard ? await ProgressNotes.ReadAsync(db, ProgressNotes.Listen(releaseId), cancellationToken) : null,
        };
    }

    private async Task<ComparingFirst?> ComparingAsync(long releaseId, CancellationToken cancellationToken)
    {
        var pairs = await new FindUncompared(db).RunAsync(cancellationToken, releaseId);
        if (pairs.Count == 0)
            return null;
        var fromId = pairs[0].FromReleaseId;
        var number = await db.Releases.Where(r => r.Id == fromId).Select(r => r.Number).SingleAsync(cancellationToken);
        return new(fromId, number, await ProgressNotes.ReadAsync(db, ProgressNotes.Compare(releaseId, fromId), cancellationToken));
    }
}

using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>
/// What a version is compared by, without its files: <paramref name="FolderMark"/> stands for them. <paramref name="Limits"/>: the library's,
/// for what middle C is called; <paramref name="Players"/>: names and lowest versions, in order.
/// </summary>
internal sealed record MarkedRelease(long Id, ReleaseState State, string FolderMark, string Number, string Limits, IReadOnlyList<ReleasePlayer> Players);

/// <summary>
/// Tells by a digest, never by a date, whether a comparison speaks of what two versions are now: a job may have begun on a folder that was
/// sent anew since.
/// </summary>
internal static class FolderMarks
{
    /// <summary>SHA-256 (64 lower-case hex digits) over paths and contents of a folder; <paramref name="files"/> in any order.</summary>
    public static string Of(IEnumerable<(string Path, string Sha256)> files)
    {
        var text = new StringBuilder();
        foreach (var (path, sha256) in files.OrderBy(f => f.Path, StringComparer.Ordinal))
            text.Append(CultureInfo.InvariantCulture, $"{sha256} {path}\n");
        return Digest(text);
    }

    /// <summary>
    /// Marks all that an outcome depends on but the comparing code. The newer one's own number is left out: nothing is worked out from it, and it
    /// is given another one because of the outcome. Null when either folder is not known to be whole: a draft, or not marked yet.
    /// </summary>
    public static string? OfPair(MarkedRelease from, MarkedRelease to)
    {
        if (from.State == ReleaseState.Draft || to.State == ReleaseState.Draft || from.FolderMark.Length == 0 || to.FolderMark.Length == 0)
            return null;
        var text = new StringBuilder().Append(CultureInfo.InvariantCulture, $"{from.Number}\n");
        foreach (var side in (MarkedRelease[])[from, to])
        {
            text.Append(CultureInfo.InvariantCulture, $"{side.FolderMark} {MiddleC(side.Limits)}\n");
            foreach (var player in side.Players)
                text.Append(CultureInfo.InvariantCulture, $"{player.Name}\t{player.LowestVersion}\n");
        }
        return Digest(text);
    }

    /// <summary>The octave number of middle C that a library's limits say.</summary>
    public static int MiddleC(string limits) => (LimitsText.TryRead(limits, out var read, out _) ? read : LibraryLimits.Default).MiddleCOctave;

    /// <summary>These releases, those that are there, by id.</summary>
    public static async Task<IReadOnlyDictionary<long, MarkedRelease>> LoadAsync(
        ShelfDb db, IReadOnlyCollection<long> releaseIds, CancellationToken cancellationToken) =>
        await Select(db.Releases.Where(r => releaseIds.Contains(r.Id))).ToDictionaryAsync(r => r.Id, cancellationToken);

    /// <summary>Every release of a library (null: of all) that is no draft, by id.</summary>
    public static async Task<IReadOnlyDictionary<long, MarkedRelease>> LoadAllAsync(ShelfDb db, long? libraryId, CancellationToken cancellationToken) =>
        await Select(db.Releases.Where(r => r.State != ReleaseState.Draft && (libraryId == null || r.LibraryId == libraryId))).ToDictionaryAsync(r => r.Id, cancellationToken);

    /// <summary>
    /// Marks the folders of those that are not marked: what was checked before there were marks, or since it was last compared. In one transaction
    /// with reading the files, because a folder that is sent meanwhile must not get the mark of the one before.
    /// </summary>
    public static async Task KeepAsync(ShelfDb db, long[] releaseIds, CancellationToken cancellationToken)
    {
        if (!await Unmarked().AnyAsync(cancellationToken))
            return;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        foreach (var id in await Unmarked().Select(r => r.Id).ToListAsync(cancellationToken))
        {
            var files = await db.ReleaseFiles.Where(f => f.ReleaseId == id).Select(f => new { f.Path, f.Sha256 }).ToListAsync(cancellationToken);
            var mark = Of(files.Select(f => (f.Path, f.Sha256)));
            await db.Releases.Where(r => r.Id == id).ExecuteUpdateAsync(r => r.SetProperty(x => x.FolderMark, mark), cancellationToken);
        }
        await transaction.CommitAsync(cancellationToken);

        IQueryable<Release> Unmarked() => db.Releases.Where(r => releaseIds.Contains(r.Id) && r.State != ReleaseState.Draft && r.FolderMark == "");
    }

    private static IQueryable<MarkedRelease> Select(IQueryable<Release> releases) => releases.AsNoTracking().Select(r => new MarkedRelease(
        r.Id, r.State, r.FolderMark, r.Number, r.Library.Limits, r.Players.OrderBy(p => p.Order).ThenBy(p => p.Id).ToList()));

    private static string Digest(StringBuilder text) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString())));
}

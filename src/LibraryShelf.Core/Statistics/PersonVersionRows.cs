using System.Globalization;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Works out which versions some people have, from all their downloads, and writes what differs: their rows, and the sums over everybody's. Inside the caller's
/// transaction, written at once: both change together or not at all.
/// </summary>
internal sealed class PersonVersionRows(ShelfDb db, DateTimeZone zone)
{
    /// <param name="people">At most a thousand. Whoever has no download (any more) has no row.</param>
    /// <param name="libraryId">The library whose versions; null: of each. What they have of others stays as it stands.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task WriteAsync(IReadOnlyCollection<long> people, long? libraryId, CancellationToken cancellationToken)
    {
        var finished = await FinishedAsync(people, libraryId, cancellationToken);
        var libraries = finished.Select(f => f.LibraryId).Distinct().ToArray();
        var versions = await db.Releases.Where(r => EF.Parameter(libraries).Contains(r.LibraryId) && r.SealedAt != null)
            .Select(r => new KnownVersion(r.Id, r.LibraryId, r.Number, r.PublishedAt)).ToListAsync(cancellationToken);
        var now = VersionPaths.Of(finished, versions, zone).ToLookup(v => v.PersonId);
        var before = (await Theirs([.. people], libraryId).AsNoTracking().ToListAsync(cancellationToken)).ToLookup(v => v.PersonId);
        long[] changed = [.. people.Where(p => !now[p].Select(Said).ToHashSet().SetEquals(before[p].Select(Said)))];
        if (changed.Length == 0)
            return;
        await Theirs(changed, libraryId).ExecuteDeleteAsync(cancellationToken);
        db.PersonVersions.AddRange(changed.SelectMany(p => now[p]));
        await MoveAsync(changed.SelectMany(p => now[p].Select(v => (Move.Of(v), 1)).Concat(before[p].Select(v => (Move.Of(v), -1)))), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
    }

    private IQueryable<PersonVersion> Theirs(long[] people, long? libraryId) =>
        db.PersonVersions.Where(v => EF.Parameter(people).Contains(v.PersonId) && (libraryId == null || v.LibraryId == libraryId));

    /// <summary>Everything of a row.</summary>
    private static (long, long, long, long, long, long, DateTimeOffset, LocalDate) Said(PersonVersion v) =>
        (v.PersonId, v.LibraryId, v.ReleaseId, v.FromReleaseId, v.NextReleaseId, v.LatestThenId, v.Since, v.Day);

    private sealed record Move(LocalDate Day, long LibraryId, long FromReleaseId, long ReleaseId, long LatestThenId)
    {
        public static Move Of(PersonVersion v) => new(v.Day, v.LibraryId, v.FromReleaseId, v.ReleaseId, v.LatestThenId);
    }

    /// <summary>Rows in a statement.</summary>
    private const int AtOnce = 500;

    /// <summary>In SQL that both databases speak: a few people with everything on the shelf move ten thousand times, and each by itself takes as long as fifty together.</summary>
    private async Task MoveAsync(IEnumerable<(Move Move, int People)> changes, CancellationToken cancellationToken)
    {
        var moves = changes.GroupBy(c => c.Move, c => c.People).Select(g => (Move: g.Key, People: g.Sum())).Where(m => m.People != 0).ToList();
        foreach (var some in moves.Chunk(AtOnce))
        {
            var rows = string.Join(", ", some.Select(m => string.Create(CultureInfo.InvariantCulture,
                $"('{LocalDatePattern.Iso.Format(m.Move.Day)}', {m.Move.LibraryId}, {m.Move.FromReleaseId}, {m.Move.ReleaseId}, {m.Move.LatestThenId}, {m.People})")));
            var sql = $"""
                INSERT INTO "VersionMoves" ("Day", "LibraryId", "FromReleaseId", "ReleaseId", "LatestThenId", "People") VALUES {rows}
                ON CONFLICT ("LibraryId", "Day", "FromReleaseId", "ReleaseId", "LatestThenId") DO UPDATE SET "People" = "VersionMoves"."People" + excluded."People"
                """;
            await db.Database.ExecuteSqlRawAsync(sql, cancellationToken);
        }
        if (!moves.Exists(m => m.People < 0))
            return;
        var (libraries, days) = (moves.Where(m => m.People < 0).Select(m => m.Move.LibraryId).Distinct().ToArray(), moves.Where(m => m.People < 0).Select(m => m.Move.Day).Distinct().ToArray());
        await db.VersionMoves.Where(m => EF.Parameter(libraries).Contains(m.LibraryId) && EF.Parameter(days).Contains(m.Day) && m.People <= 0).ExecuteDeleteAsync(cancellationToken);
    }

    private async Task<List<FinishedVersion>> FinishedAsync(IReadOnlyCollection<long> people, long? libraryId, CancellationToken cancellationToken)
    {
        // Their accounts first: each then leads to its own downloads, and no other is looked at.
        var ids = people.ToArray();
        var accounts = await db.Users.Where(p => p.DeletedAt == null && (EF.Parameter(ids).Contains(p.Id) ? p.MergedIntoId == null : p.MergedIntoId != null && EF.Parameter(ids).Contains(p.MergedIntoId.Value)))
            .Select(p => p.Id).ToArrayAsync(cancellationToken);
        var theirs = db.Downloads.Where(d => EF.Parameter(accounts).Contains(d.PersonId!.Value) && d.DropId == null && d.Why != MayDownloadWhy.Maker);
        if (libraryId is not null)
        {
            // By the versions, which stand beside the person in an index.
            var of = await db.Releases.Where(r => r.LibraryId == libraryId).Select(r => r.Id).ToArrayAsync(cancellationToken);
            theirs = theirs.Where(d => EF.Parameter(of).Contains(d.ReleaseId));
        }
        var rows = await (from d in theirs
                          join p in db.Users on d.PersonId equals (long?)p.Id
                          join t in db.DownloadTallies on d.Id equals t.DownloadId
                          where t.FinishedAt != null
                          select new FinishedVersion(p.MergedIntoId ?? p.Id, d.LibraryId, d.ReleaseId, t.FinishedAt!.Value)).ToListAsync(cancellationToken);
        rows.AddRange(await (from f in MonthFetches.Of(db)
                             where EF.Parameter(accounts).Contains(f.PersonId!.Value) && f.Why != MayDownloadWhy.Maker
                             join p in db.Users on f.PersonId equals (long?)p.Id
                             join r in db.Releases on f.ReleaseId equals r.Id
                             where libraryId == null || r.LibraryId == libraryId
                             join t in db.DownloadTallies on f.DownloadId equals t.DownloadId
                             where t.FinishedAt != null
                             select new FinishedVersion(p.MergedIntoId ?? p.Id, r.LibraryId, f.ReleaseId, t.FinishedAt!.Value)).ToListAsync(cancellationToken));
        return rows;
    }
}

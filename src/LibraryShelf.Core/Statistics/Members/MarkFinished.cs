using System.Globalization;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>A download that was just counted as finished, of somebody signed in.</summary>
/// <param name="PersonId">Pressed in the minute before they were merged, it is the account's that stays.</param>
internal sealed record FinishedNow(long PersonId, long LibraryId, long? DropId, MayDownloadWhy Why, DateTimeOffset At);

/// <summary>
/// What a finished download of somebody signed in changes: which versions of its library they have is worked out anew, the drop it is of is to be rolled up, and it may be their
/// first of what is free.
/// </summary>
internal sealed class MarkFinished(ShelfDb db)
{
    /// <summary>Rows in a statement.</summary>
    private const int AtOnce = 500;

    /// <summary>In the caller's transaction, which lets no other writer through, and written at once.</summary>
    public async Task RunAsync(IReadOnlyList<FinishedNow> finished, CancellationToken cancellationToken)
    {
        // A month fetched as one archive may hold any of its libraries.
        await InsertAsync(finished.Select(f => (LibraryId: f.DropId is null ? f.LibraryId : 0, f.PersonId)).Distinct().Select(m => Row(m.LibraryId, m.PersonId)),
            """INSERT INTO "VersionMarks" ("LibraryId", "PersonId") VALUES""", """ON CONFLICT ("LibraryId", "PersonId") DO NOTHING""", cancellationToken);
        var theirs = finished.Where(f => f.Why != MayDownloadWhy.Maker).ToList();
        var drops = theirs.Select(d => d.DropId).OfType<long>().ToHashSet();
        var libraries = theirs.Where(d => d.DropId is null).Select(d => d.LibraryId).Distinct().ToArray();
        drops.UnionWith(await (from r in db.Releases where EF.Parameter(libraries).Contains(r.LibraryId) join d in db.DropReleases on r.Id equals d.ReleaseId select d.DropId).ToListAsync(cancellationToken));
        var touched = drops.ToArray();
        await db.DropUptakes.Where(u => EF.Parameter(touched).Contains(u.DropId)).ExecuteUpdateAsync(s => s.SetProperty(u => u.Changed, u => u.Changed + 1), cancellationToken);
        await InsertAsync(theirs.Where(d => d.Why == MayDownloadWhy.Free).GroupBy(d => d.PersonId).Select(g => Row(g.Key, g.Min(d => d.At).ToUnixTimeMilliseconds())),
            """INSERT INTO "PersonFirsts" ("PersonId", "FreeAt") VALUES""",
            """ON CONFLICT ("PersonId") DO UPDATE SET "FreeAt" = CASE WHEN excluded."FreeAt" < "PersonFirsts"."FreeAt" THEN excluded."FreeAt" ELSE "PersonFirsts"."FreeAt" END""", cancellationToken);
    }

    /// <summary>In SQL that both databases speak: as entities, on a drop's day, it takes longer than counting.</summary>
    private async Task InsertAsync(IEnumerable<string> rows, string insert, string onConflict, CancellationToken cancellationToken)
    {
        foreach (var some in rows.Chunk(AtOnce))
        {
            var sql = $"{insert} {string.Join(", ", some)} {onConflict}";
            await db.Database.ExecuteSqlRawAsync(sql, cancellationToken);
        }
    }

    private static string Row(params long[] values) => $"({string.Join(", ", values.Select(v => v.ToString(CultureInfo.InvariantCulture)))})";
}

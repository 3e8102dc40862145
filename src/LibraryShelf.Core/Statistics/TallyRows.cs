using System.Globalization;
using System.Text;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>Writes many tallies in few statements: as entities, each takes five times as long, and on a drop's day a hundred thousand are written.</summary>
internal static class TallyRows
{
    /// <summary>Rows in a statement: of a quarter as many, a statement takes PostgreSQL longer to read than to do. Two parameters each at most, of 32,766 that SQLite takes (https://www.sqlite.org/limits.html#max_variable_number), other databases more.</summary>
    private const int AtOnce = 1_000;

    /// <summary>In the caller's transaction: new ones are added, of others all is written but <see cref="DownloadTally.IsAgain"/>.</summary>
    public static async Task WriteAsync(ShelfDb db, IEnumerable<DownloadTally> tallies, CancellationToken cancellationToken)
    {
        foreach (var some in tallies.Chunk(AtOnce))
        {
            var (sql, texts) = Statement(some);
            await db.Database.ExecuteSqlRawAsync(sql, texts, cancellationToken);
        }
    }

    /// <summary>In SQL that both databases speak. Numbers stand in it, texts are parameters.</summary>
    private static (string Sql, List<object> Texts) Statement(DownloadTally[] tallies)
    {
        var texts = new List<object>(tallies.Length);
        var sql = new StringBuilder("""
            INSERT INTO "DownloadTallies" ("DownloadId", "LastEventId", "BytesCovered", "Parts", "StartedAt", "IsAgain", "Requests", "Resumes", "BytesServed", "FinishedAt") VALUES
            """);
        foreach (var tally in tallies)
        {
            sql.Append(texts.Count == 0 ? " (" : ", (");
            Add(tally.DownloadId);
            sql.Append(CultureInfo.InvariantCulture, $", {tally.LastEventId}, {tally.BytesCovered}, ");
            Add(tally.Parts);
            sql.Append(CultureInfo.InvariantCulture, $", {Ms(tally.StartedAt)}, {(tally.IsAgain ? "TRUE" : "FALSE")}, {tally.Requests}, {tally.Resumes}, {tally.BytesServed}, {Ms(tally.FinishedAt)})");
        }
        sql.Append("""
             ON CONFLICT ("DownloadId") DO UPDATE SET "LastEventId" = excluded."LastEventId", "BytesCovered" = excluded."BytesCovered", "Parts" = excluded."Parts", "StartedAt" = excluded."StartedAt",
            "Requests" = excluded."Requests", "Resumes" = excluded."Resumes", "BytesServed" = excluded."BytesServed", "FinishedAt" = excluded."FinishedAt"
            """);
        return (sql.ToString(), texts);

        void Add(string? text)
        {
            if (text is null)
            {
                sql.Append("NULL");
                return;
            }
            sql.Append(CultureInfo.InvariantCulture, $"{{{texts.Count}}}");
            texts.Add(text);
        }
    }

    private static string Ms(DateTimeOffset? at) => at?.ToUnixTimeMilliseconds().ToString(CultureInfo.InvariantCulture) ?? "NULL";
}

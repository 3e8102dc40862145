using System.Data;
using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace LibraryShelf.Core.Intake;

/// <summary>A line of a folder: its path, the SHA-256 of its bytes (or <see cref="ReleaseFile.NotKnownYet"/>) and their count.</summary>
internal readonly record struct ManifestRow(string Path, string Sha256, long Size);

/// <summary>
/// What has to be written so that a draft's manifest becomes a new list. Found out before the transaction and written by
/// statements of many rows, because 20,000 tracked lines would hold the database's one writer for seconds.
/// </summary>
internal sealed class ManifestChange
{
    /// <summary>Rows of one statement, which is prepared once: few round trips to a server, and short for SQLite to prepare.</summary>
    private const int Rows = 100;

    private readonly List<ManifestRow> written = [];
    private readonly List<string> gone;

    private ManifestChange(Dictionary<string, ManifestRow> old, IEnumerable<ManifestRow> lines)
    {
        foreach (var line in lines)
        {
            if (!old.Remove(line.Path, out var kept) || kept != line)
                written.Add(line);
        }
        gone = [.. old.Keys];
        // The index's order: neighbours are written together.
        written.Sort((a, b) => string.CompareOrdinal(a.Path, b.Path));
    }

    /// <summary>Holds true while the release's revision does: each change of the contents steps it.</summary>
    public static async Task<ManifestChange> FindAsync(
        ShelfDb db, long releaseId, IEnumerable<ManifestRow> lines, CancellationToken cancellationToken)
    {
        var old = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId)
            .Select(f => new ManifestRow(f.Path, f.Sha256, f.Size))
            .ToDictionaryAsync(f => f.Path, StringComparer.Ordinal, cancellationToken);
        return new ManifestChange(old, lines);
    }

    /// <summary>Expects the caller's transaction.</summary>
    public async Task WriteAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken)
    {
        foreach (var some in gone.Chunk(BlobRows.Batch))
            await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId && some.Contains(f.Path)).ExecuteDeleteAsync(cancellationToken);
        if (written.Count > 0)
            await WriteLinesAsync(db, releaseId, cancellationToken);
    }

    private async Task WriteLinesAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken)
    {
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.Transaction = db.Database.CurrentTransaction!.GetDbTransaction();
        foreach (var some in written.Chunk(Rows))
        {
            if (command.Parameters.Count != (3 * some.Length) + 1)
                Prepare(command, some.Length);
            var values = command.Parameters;
            values[0].Value = releaseId;
            for (var i = 0; i < some.Length; i++)
                (values[(3 * i) + 1].Value, values[(3 * i) + 2].Value, values[(3 * i) + 3].Value) = (some[i].Path, some[i].Sha256, some[i].Size);
            await command.ExecuteNonQueryAsync(cancellationToken);
        }
    }

    /// <summary>Claims for the draft whatever its manifest names and the shelf holds; what is claimed stays so.</summary>
    public static Task ClaimAsync(ShelfDb db, long releaseId, DateTimeOffset now, CancellationToken cancellationToken) =>
        db.Database.ExecuteSqlAsync(
            $"""
            INSERT INTO "BlobClaims" ("ReleaseId", "Sha256", "ClaimedAt")
            SELECT DISTINCT f."ReleaseId", f."Sha256", {now.ToUnixTimeMilliseconds()}
            FROM "ReleaseFiles" AS f INNER JOIN "Blobs" AS b ON b."Sha256" = f."Sha256"
            WHERE f."ReleaseId" = {releaseId}
            ON CONFLICT ("ReleaseId", "Sha256") DO NOTHING
            """, cancellationToken);

    // Understood alike by SQLite (3.24 and later) and PostgreSQL (9.5 and later). Only numbers of parameters are put in.
    private static void Prepare(DbCommand command, int rows)
    {
        command.Parameters.Clear();
        for (var i = 0; i <= 3 * rows; i++)
        {
            var parameter = command.CreateParameter();
            (parameter.ParameterName, parameter.DbType) = ($"@p{i}", i % 3 == 0 ? DbType.Int64 : DbType.String);
            command.Parameters.Add(parameter);
        }
        command.CommandText =
            """INSERT INTO "ReleaseFiles" ("ReleaseId", "Path", "Sha256", "Size") VALUES """
            + string.Join(", ", Enumerable.Range(0, rows).Select(i => $"(@p0, @p{(3 * i) + 1}, @p{(3 * i) + 2}, @p{(3 * i) + 3})"))
            + """ ON CONFLICT ("ReleaseId", "Path") DO UPDATE SET "Sha256" = excluded."Sha256", "Size" = excluded."Size" """;
    }
}

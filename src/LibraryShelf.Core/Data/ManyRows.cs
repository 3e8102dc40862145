using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Metadata;
using Microsoft.EntityFrameworkCore.Storage;

namespace LibraryShelf.Core.Data;

/// <summary>
/// Writes many new rows of one table by statements of many rows each, untracked: a statement a row and its number read back cost more than the rows
/// themselves. Understood alike by SQLite and PostgreSQL.
/// </summary>
internal static class ManyRows
{
    /// <summary>Rows of one statement: far below the parameters either database takes (32,766 and 65,535).</summary>
    private const int AtOnce = 50;

    /// <param name="db">Within the caller's transaction.</param>
    /// <param name="rows">New ones. Where the database numbers the table, their numbers stay as they are here; none is told.</param>
    /// <param name="cancellationToken">Ends it between two statements.</param>
    /// <exception cref="DbException">The database's own, such as a row that is there already; the transaction is to be given up.</exception>
    public static async Task AddManyAsync<T>(this ShelfDb db, IReadOnlyCollection<T> rows, CancellationToken cancellationToken)
        where T : class
    {
        var type = db.Model.FindEntityType(typeof(T))!;
        var columns = type.GetProperties().Where(p => p.ValueGenerated != ValueGenerated.OnAdd || !p.IsPrimaryKey()).ToList();
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.Transaction = db.Database.CurrentTransaction!.GetDbTransaction();
        var sql = db.GetService<ISqlGenerationHelper>();
        foreach (var some in rows.Chunk(AtOnce))
        {
            if (command.Parameters.Count != some.Length * columns.Count)
                command.CommandText = Statement(sql, type, columns, some.Length);
            command.Parameters.Clear();
            for (var row = 0; row < some.Length; row++)
                for (var i = 0; i < columns.Count; i++)
                    command.Parameters.Add(columns[i].GetRelationalTypeMapping().CreateParameter(
                        command, Name(row, i), columns[i].GetGetter().GetClrValue(some[row]), columns[i].IsNullable));
            await command.ExecuteNonQueryAsync(cancellationToken);
        }
    }

    private static string Statement(ISqlGenerationHelper sql, IEntityType type, List<IProperty> columns, int rows)
    {
        var table = StoreObjectIdentifier.Table(type.GetTableName()!, type.GetSchema());
        return $"INSERT INTO {sql.DelimitIdentifier(table.Name)} ({string.Join(", ", columns.Select(c => sql.DelimitIdentifier(c.GetColumnName(table)!)))}) VALUES "
            + string.Join(", ", Enumerable.Range(0, rows).Select(row => $"({string.Join(", ", columns.Select((_, i) => Name(row, i)))})"));
    }

    private static string Name(int row, int column) => $"@p{row}_{column}";
}

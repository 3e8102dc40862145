using System.Data.Common;
using System.Globalization;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>Everything the shelf remembers at one moment: each row of each table, and each file beside the database with its size.</summary>
internal static class ShelfState
{
    /// <summary>When somebody was here is noted by looking, and is no act of theirs.</summary>
    private static readonly string[] NotedByLooking = ["VisitedAt", "VisitedBefore"];

    public static async Task<SortedSet<string>> ReadAsync(ShelfHost host)
    {
        var state = new SortedSet<string>(StringComparer.Ordinal);
        await ForEachRowAsync(host, (table, row) => state.Add(table + ": " + string.Join(" | ", row.Where(c => !NotedByLooking.Contains(c.Column)).Select(c => $"{c.Column}={c.Value}"))));
        foreach (var file in new DirectoryInfo(host.DataFolder).EnumerateFiles("*", SearchOption.AllDirectories))
        {
            if (!file.Name.StartsWith("shelf.db", StringComparison.Ordinal))
                state.Add($"{Path.GetRelativePath(host.DataFolder, file.FullName)}, {file.Length} bytes");
        }
        return state;
    }

    /// <summary>Shows each row of each table of the model as text, whatever the database is; bytes as lower-case hex.</summary>
    public static Task ForEachRowAsync(ShelfHost host, Action<string, IReadOnlyList<(string Column, string Value)>> see) => host.WithDbAsync(async db =>
    {
        await db.Database.OpenConnectionAsync();
        foreach (var table in db.Model.GetEntityTypes().Select(e => e.GetTableName()).OfType<string>().Distinct())
        {
            await using var command = db.Database.GetDbConnection().CreateCommand();
#pragma warning disable CA2100 // The name is the model's own.
            command.CommandText = $"SELECT * FROM \"{table}\"";
#pragma warning restore CA2100
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync())
                see(table, [.. Enumerable.Range(0, reader.FieldCount).Select(i => (reader.GetName(i), Text(reader, i)))]);
        }
    });

    private static string Text(DbDataReader reader, int column) => reader.GetValue(column) switch
    {
        byte[] bytes => Convert.ToHexStringLower(bytes),
        DBNull => "",
        var value => Convert.ToString(value, CultureInfo.InvariantCulture) ?? "",
    };
}

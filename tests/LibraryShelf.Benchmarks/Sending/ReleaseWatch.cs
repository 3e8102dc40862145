using System.Data.Common;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Benchmarks.Sending;

/// <summary>Looks at a release's row over and over by one prepared statement: watching should take next to nothing of the machine that is measured.</summary>
internal sealed class ReleaseWatch : IAsyncDisposable
{
    private readonly ShelfDb db;
    private readonly DbCommand command;
    private readonly DbParameter id;

    private ReleaseWatch(ShelfDb db)
    {
        this.db = db;
        command = db.Database.GetDbConnection().CreateCommand();
        command.CommandText = """SELECT "State", "CheckAskedAt", "SealedAt" FROM "Releases" WHERE "Id" = @id""";
        id = command.CreateParameter();
        id.ParameterName = "@id";
        command.Parameters.Add(id);
    }

    public static async Task<ReleaseWatch> OpenAsync(Shelf shelf)
    {
        var opened = shelf.Open();
        await opened.Database.OpenConnectionAsync();
        return new ReleaseWatch(opened);
    }

    /// <summary>The row as it is now; instants in milliseconds since 1970.</summary>
    public async Task<(string State, long? CheckAskedAt, long? SealedAt)> LookAsync(long release)
    {
        id.Value = release;
        await using var reader = await command.ExecuteReaderAsync();
        if (!await reader.ReadAsync())
            throw new InvalidOperationException($"There is no release {release}.");
        return (reader.GetString(0), reader.IsDBNull(1) ? null : reader.GetInt64(1), reader.IsDBNull(2) ? null : reader.GetInt64(2));
    }

    public async ValueTask DisposeAsync()
    {
        await command.DisposeAsync();
        await db.DisposeAsync();
    }
}

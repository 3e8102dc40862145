using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests;

/// <summary>A real SQLite shelf in a folder of its own, with a clock that stands still at 25 November 2026, 12:00 UTC.</summary>
public sealed class TempShelf : IAsyncDisposable
{
    public DataPaths Paths { get; } = new(Directory.CreateTempSubdirectory("shelf-").FullName);

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));

    public static async Task<TempShelf> MakeAsync()
    {
        var shelf = new TempShelf();
        foreach (var folder in new[] { shelf.Paths.Blobs, shelf.Paths.Uploads, shelf.Paths.Outbox })
            Directory.CreateDirectory(folder);
        await using var db = shelf.Open();
        await db.Database.EnsureCreatedAsync();
        return shelf;
    }

    /// <summary>A context of its own, as each request and job gets one.</summary>
    public ShelfDb Open()
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, Paths.Database);
        return new ShelfDb(options.Options);
    }

    public ValueTask DisposeAsync()
    {
        // Pooled connections keep the file open; only this file's pool is emptied.
        using (var db = Open())
            Microsoft.Data.Sqlite.SqliteConnection.ClearPool((Microsoft.Data.Sqlite.SqliteConnection)db.Database.GetDbConnection());
        Directory.Delete(Paths.Root, recursive: true);
        return ValueTask.CompletedTask;
    }
}

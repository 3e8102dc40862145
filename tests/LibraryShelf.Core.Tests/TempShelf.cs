using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Core.Tests;

/// <summary>
/// A shelf in a folder of its own on the database of this run, with a clock that stands still at 25 November 2026, 12:00 UTC.
/// </summary>
public sealed class TempShelf : IAsyncDisposable
{
    private readonly TestDatabase _database;

    private TempShelf()
    {
        foreach (var folder in new[] { Paths.Blobs, Paths.Uploads, Paths.Outbox })
            Directory.CreateDirectory(folder);
        _database = new TestDatabase(Paths.Database).WithTables();
    }

    public DataPaths Paths { get; } = new(Directory.CreateTempSubdirectory("shelf-").FullName);

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));

    public static Task<TempShelf> MakeAsync() => Task.Run(() => new TempShelf());

    /// <summary>A context of its own, as each request and job gets one.</summary>
    /// <param name="watch">Looks on at its use.</param>
    public ShelfDb Open(Microsoft.EntityFrameworkCore.Diagnostics.IInterceptor? watch = null) => _database.Open(watch);

    public ValueTask DisposeAsync()
    {
        _database.Dispose();
        Directory.Delete(Paths.Root, recursive: true);
        return ValueTask.CompletedTask;
    }
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>Takes a library's piece of music off its page; its files are collected a week later.</summary>
public sealed class RemoveMusic(ShelfDb db)
{
    /// <returns>True when there was one.</returns>
    public async Task<bool> RunAsync(string slug, CancellationToken cancellationToken) =>
        await db.LibraryMusic.Where(m => db.Libraries.Any(l => l.Id == m.LibraryId && l.Slug == slug)).ExecuteDeleteAsync(cancellationToken) > 0;
}

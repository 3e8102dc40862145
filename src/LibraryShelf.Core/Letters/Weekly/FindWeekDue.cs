using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>Whether the letter about last week is to be written.</summary>
public sealed class FindWeekDue(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    public async Task<bool> RunAsync(CancellationToken cancellationToken) => await DueWeek.FindAsync(db, clock.GetUtcNow(), settings.Value, cancellationToken) is not null;
}

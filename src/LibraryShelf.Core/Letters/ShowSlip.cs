using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Letters;

/// <summary>The letter that a month slips, as it would be sent now; nobody is told by looking at it.</summary>
public sealed class ShowSlip(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <param name="month">With a drop or without one.</param>
    /// <param name="reason">As typed.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    public async Task<LetterShown> RunAsync(YearMonth month, string reason, CancellationToken cancellationToken)
    {
        var desk = new LetterDesk(await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), LetterDesk.AddressOf(settings.Value.PublicUrl));
        var drop = await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Month == month, cancellationToken) ?? new Drop { Month = month, State = DropState.Cancelled };
        drop.SlippedBecause = reason.Trim();
        return LetterShown.Of(SlipLetter.Write(drop, clock.GetUtcNow(), desk), desk);
    }
}

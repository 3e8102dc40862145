using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>A cookie is held against its row: it is refused once the row has ended, and the row remembers that the browser was here.</summary>
public sealed class SeeDevice(ShelfDb db, TimeProvider clock)
{
    /// <summary>How exactly <see cref="Device.SeenAt"/> is kept.</summary>
    public static readonly TimeSpan SeenWithin = TimeSpan.FromMinutes(5);

    /// <param name="deviceId">What the cookie names; null: it is from before cookies named rows, and gets one.</param>
    /// <param name="signedInAt">When the cookie was made, for a row that is made now.</param>
    /// <returns>The row the cookie has to name from now on; null: it ended, or is not there, and the cookie is worth nothing.</returns>
    public async Task<long?> RunAsync(long personId, long? deviceId, string words, DateTimeOffset signedInAt, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        if (deviceId is not { } id)
            return await AdoptAsync(personId, words, signedInAt, now, cancellationToken);
        var device = await db.Devices.AsNoTracking()
            .SingleOrDefaultAsync(d => d.Id == id && d.PersonId == personId && d.EndedAt == null, cancellationToken);
        if (device?.SeenAt < now - SeenWithin)
            await db.Devices.Where(d => d.Id == id).ExecuteUpdateAsync(s => s.SetProperty(d => d.SeenAt, now), cancellationToken);
        return device?.Id;
    }

    /// <summary>A browser asks for several things at once, all with the cookie that names no row: they share the first one's.</summary>
    private async Task<long?> AdoptAsync(long personId, string words, DateTimeOffset signedInAt, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var device = await db.Devices.FirstOrDefaultAsync(
            d => d.PersonId == personId && d.SignedInAt == signedInAt && d.Words == words && d.EndedAt == null, cancellationToken);
        if (device is null)
            db.Devices.Add(device = new Device { PersonId = personId, Words = words, SignedInAt = signedInAt, SeenAt = now });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return device.Id;
    }
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Accounts;

/// <summary>Where somebody is signed in, last seen first. A browser not seen for longer than its cookie lives is signed in no more.</summary>
public sealed class ReadDevices(ShelfDb db, TimeProvider clock)
{
    public async Task<IReadOnlyList<Device>> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var oldest = clock.GetUtcNow() - Device.LivesUnseen;
        return await db.Devices.AsNoTracking().Where(d => d.PersonId == personId && d.EndedAt == null && d.SeenAt > oldest)
            .OrderByDescending(d => d.SeenAt).ThenByDescending(d => d.Id).ToListAsync(cancellationToken);
    }
}

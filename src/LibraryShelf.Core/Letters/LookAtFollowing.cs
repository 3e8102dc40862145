using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

/// <param name="Title">The library's.</param>
/// <param name="Slug">The library's.</param>
/// <param name="Email">Who follows, or was asked to.</param>
/// <param name="IsConfirmed">They said yes.</param>
public sealed record FollowLook(string Title, string Slug, string Email, bool IsConfirmed);

/// <summary>What a mailed link about following is about. Only looks, because mail scanners open links.</summary>
public sealed class LookAtFollowing(ShelfDb db)
{
    /// <returns>Null: nobody follows by this link; it is not whole, they stopped, or a week without a yes went by.</returns>
    public Task<FollowLook?> RunAsync(string key, CancellationToken cancellationToken) =>
        db.Followers.Where(f => f.Key == key).Join(db.Libraries, f => f.LibraryId, l => l.Id, (f, l) => new FollowLook(l.Title, l.Slug, f.Email, f.ConfirmedAt != null))
            .FirstOrDefaultAsync(cancellationToken);
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Someone who has a version early, and when they last started to fetch it (null: not yet).</summary>
public sealed record EarlyGuestLine(long PersonId, string Email, DateTimeOffset AddedAt, DateTimeOffset? FetchedAt)
{
    /// <summary>By address.</summary>
    internal static async Task<IReadOnlyList<EarlyGuestLine>> ReadAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken)
    {
        var guests = await db.EarlyGuests.AsNoTracking().Where(g => g.ReleaseId == releaseId)
            .Join(db.Users, g => g.PersonId, p => p.Id, (g, p) => new { p.Id, p.Email, p.NormalizedEmail, g.AddedAt })
            .OrderBy(g => g.NormalizedEmail).ToListAsync(cancellationToken);
        var fetched = await db.Downloads.Where(d => d.ReleaseId == releaseId && d.PersonId != null && d.StartedAt != null)
            .GroupBy(d => d.PersonId!.Value).Select(g => new { g.Key, At = g.Max(d => d.StartedAt) })
            .ToDictionaryAsync(d => d.Key, d => d.At, cancellationToken);
        return [.. guests.Select(g => new EarlyGuestLine(g.Id, g.Email!, g.AddedAt, fetched.GetValueOrDefault(g.Id)))];
    }
}

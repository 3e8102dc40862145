using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>Whose a drop was when it went out, and when each of them first had something of it.</summary>
internal static class DropTaking
{
    /// <param name="db">Where to read.</param>
    /// <param name="drop">One that is out.</param>
    /// <param name="only">This person alone; null: everybody.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>By person, when they first finished one of its libraries or the whole month; null: they have not.</returns>
    public static async Task<Dictionary<long, DateTimeOffset?>> OfAsync(ShelfDb db, Drop drop, long? only, CancellationToken cancellationToken)
    {
        var holders = await HoldersAsync(db, drop, only, cancellationToken);
        var releases = await ReleasesAsync(db, drop.Id, cancellationToken);
        var taken = await (
            from d in db.Downloads
            where d.PersonId != null && (only == null || d.PersonId == only) && (d.DropId == drop.Id || (d.DropId == null && releases.Contains(d.ReleaseId)))
            join t in db.DownloadTallies on d.Id equals t.DownloadId
            where t.FinishedAt != null
            group t by d.PersonId!.Value into g
            select new { g.Key, At = g.Min(t => t.FinishedAt) }).ToDictionaryAsync(g => g.Key, g => g.At, cancellationToken);
        return holders.ToDictionary(p => p, p => taken.GetValueOrDefault(p));
    }

    /// <summary>At the instant it went out: members, and who had its month paid for or given without being one any more.</summary>
    private static async Task<List<long>> HoldersAsync(ShelfDb db, Drop drop, long? only, CancellationToken cancellationToken)
    {
        var at = drop.SentAt!.Value;
        var given = only is { } one ? await GivenAsync(db, drop, one, cancellationToken) : await MonthHolders.OfEndedGiftsAsync(db, drop.Month, at, cancellationToken);
        return await db.Users.Where(p => !p.IsMaker && p.DeletedAt == null && p.MergedIntoId == null && (only == null || p.Id == only))
            .Where(p => ActiveMembers.At(db, at).Contains(p.Id) || db.PaidMonths.Any(m => m.PersonId == p.Id && m.Month == drop.Month && m.OpensAt <= at)
                || EF.Parameter(given).Contains(p.Id))
            .Select(p => p.Id).ToListAsync(cancellationToken);
    }

    /// <summary>The same of one person, without reading everybody's: somebody is being deleted, and nobody else may write meanwhile.</summary>
    private static async Task<long[]> GivenAsync(ShelfDb db, Drop drop, long person, CancellationToken cancellationToken)
    {
        var (at, zone) = (drop.SentAt!.Value, await MarkDays.ZoneAsync(db, cancellationToken));
        var gifts = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == person && g.Until != null && g.Until <= at).ToListAsync(cancellationToken);
        return gifts.Exists(g => PaidMonths.OfGift(g.From, g.Until, at, zone).Contains(drop.Month)) ? [person] : [];
    }

    /// <summary>The versions it brought, and every later version of their libraries.</summary>
    private static async Task<long[]> ReleasesAsync(ShelfDb db, long dropId, CancellationToken cancellationToken)
    {
        var brought = await (from d in db.DropReleases where d.DropId == dropId join r in db.Releases on d.ReleaseId equals r.Id select new { r.LibraryId, r.Number })
            .ToListAsync(cancellationToken);
        var libraries = brought.ConvertAll(b => b.LibraryId);
        var all = await db.Releases.Where(r => libraries.Contains(r.LibraryId)).Select(r => new { r.Id, r.LibraryId, r.Number }).ToListAsync(cancellationToken);
        return [.. all.Where(r => brought.Exists(b => b.LibraryId == r.LibraryId && ReleaseNumbers.ByPrecedence.Compare(r.Number, b.Number) >= 0)).Select(r => r.Id)];
    }
}

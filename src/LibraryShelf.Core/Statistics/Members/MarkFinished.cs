using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>What a finished download of somebody signed in changes: the drop it is of is to be rolled up, and it may be their first of what is free.</summary>
internal sealed class MarkFinished(ShelfDb db)
{
    /// <summary>In the caller's transaction, which lets no other writer through.</summary>
    /// <param name="finished">Tallies that are written, with a finish; those that had one before change nothing.</param>
    /// <param name="cancellationToken">Stops it.</param>
    public async Task RunAsync(IReadOnlyList<DownloadTally> finished, CancellationToken cancellationToken)
    {
        var ids = finished.Select(t => t.DownloadId).ToArray();
        // Pressed in the minute after they were deleted, it is nobody's; after they were merged, it is the account's that stays.
        var downloads = await (
            from d in db.Downloads
            where EF.Parameter(ids).Contains(d.Id) && d.Why != MayDownloadWhy.Maker
            join p in db.Users on d.PersonId equals (long?)p.Id
            where p.DeletedAt == null
            select new { d.Id, PersonId = p.MergedIntoId ?? p.Id, d.LibraryId, d.DropId, d.Why }).ToListAsync(cancellationToken);
        var drops = downloads.Select(d => d.DropId).OfType<long>().ToHashSet();
        var libraries = downloads.Where(d => d.DropId is null).Select(d => d.LibraryId).Distinct().ToArray();
        drops.UnionWith(await (from r in db.Releases where EF.Parameter(libraries).Contains(r.LibraryId) join d in db.DropReleases on r.Id equals d.ReleaseId select d.DropId).ToListAsync(cancellationToken));
        var touched = drops.ToArray();
        await db.DropUptakes.Where(u => EF.Parameter(touched).Contains(u.DropId)).ExecuteUpdateAsync(s => s.SetProperty(u => u.Changed, u => u.Changed + 1), cancellationToken);
        var at = finished.ToDictionary(t => t.DownloadId, t => t.FinishedAt!.Value, StringComparer.Ordinal);
        await KeepFirstsAsync(downloads.Where(d => d.Why == MayDownloadWhy.Free).GroupBy(d => d.PersonId).ToDictionary(g => g.Key, g => g.Min(d => at[d.Id])), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
    }

    private async Task KeepFirstsAsync(Dictionary<long, DateTimeOffset> free, CancellationToken cancellationToken)
    {
        var people = free.Keys.ToArray();
        var kept = await db.PersonFirsts.Where(f => EF.Parameter(people).Contains(f.PersonId)).ToDictionaryAsync(f => f.PersonId, cancellationToken);
        foreach (var (person, at) in free)
        {
            if (!kept.TryGetValue(person, out var first))
                db.PersonFirsts.Add(new PersonFirst { PersonId = person, FreeAt = at });
            else if (at < first.FreeAt)
                first.FreeAt = at;
        }
    }
}

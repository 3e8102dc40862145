using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>Of a download, by whom and of which archive: what a double click is known by.</summary>
internal sealed record FetchedBefore(string Id, long ArchiveId, long? PersonId, string? Visitor)
{
    /// <summary>Null: nobody knows who it was, so no two are the same person's.</summary>
    public (long ArchiveId, long PersonId, string Visitor)? Key =>
        PersonId is { } person ? (ArchiveId, person, "") : Visitor is { } visitor ? (ArchiveId, 0, visitor) : null;
}

/// <summary>
/// Finds double clicks among downloads that were just counted as started, and the others near them: each that is followed by another of the same person and
/// archive within <see cref="DownloadTally.AgainWithin"/> is not counted. Looks at the starts alone, so it does not matter in which order they were counted.
/// </summary>
internal sealed class MarkAgain(ShelfDb db)
{
    /// <param name="started">Their tallies are written.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>The instants whose days change by it.</returns>
    public async Task<IReadOnlyList<DateTimeOffset>> RunAsync(IReadOnlyList<FetchedBefore> started, CancellationToken cancellationToken)
    {
        var keys = started.Select(s => s.Key).Where(k => k is not null).ToHashSet();
        if (keys.Count == 0)
            return [];
        var ids = started.Select(s => s.Id).ToHashSet(StringComparer.Ordinal);
        var instants = new List<DateTimeOffset>();
        foreach (var chunk in ids.Chunk(500))
            instants.AddRange(await db.DownloadTallies.Where(t => chunk.Contains(t.DownloadId)).Select(t => t.StartedAt!.Value).ToListAsync(cancellationToken));
        var archives = started.Select(s => s.ArchiveId).Distinct().ToArray();
        var changed = new List<DateTimeOffset>();
        foreach (var (from, to) in Stretches(instants))
            changed.AddRange(await MarkAsync(from, to, archives, keys, cancellationToken));
        return changed;
    }

    /// <summary>Stretches of time in which these lie, each with what may be near them; far apart ones by themselves, so that what lies between is not read.</summary>
    private static List<(DateTimeOffset From, DateTimeOffset To)> Stretches(List<DateTimeOffset> instants)
    {
        var stretches = new List<(DateTimeOffset From, DateTimeOffset To)>();
        foreach (var at in instants.Order())
        {
            if (stretches.Count > 0 && at - DownloadTally.AgainWithin <= stretches[^1].To)
                stretches[^1] = (stretches[^1].From, at + DownloadTally.AgainWithin);
            else
                stretches.Add((at - DownloadTally.AgainWithin, at + DownloadTally.AgainWithin));
        }
        return stretches;
    }

    private async Task<List<DateTimeOffset>> MarkAsync(
        DateTimeOffset from, DateTimeOffset to, long[] archives, HashSet<(long, long, string)?> keys, CancellationToken cancellationToken)
    {
        var near = await (from t in db.DownloadTallies
                          where t.StartedAt >= @from && t.StartedAt <= to
                          join d in db.Downloads on t.DownloadId equals d.Id
                          where archives.Contains(d.ArchiveId) && (d.PersonId != null || d.Visitor != null)
                          select new { t.StartedAt, t.FinishedAt, t.IsAgain, Download = new FetchedBefore(d.Id, d.ArchiveId, d.PersonId, d.Visitor) }).ToListAsync(cancellationToken);
        var changed = new List<DateTimeOffset>();
        foreach (var group in near.Where(n => keys.Contains(n.Download.Key)).GroupBy(n => n.Download.Key))
        {
            var inOrder = group.OrderBy(n => n.StartedAt).ThenBy(n => n.Download.Id, StringComparer.Ordinal).ToList();
            for (var i = 0; i < inOrder.Count; i++)
            {
                var one = inOrder[i];
                var isAgain = i + 1 < inOrder.Count && inOrder[i + 1].StartedAt - one.StartedAt <= DownloadTally.AgainWithin;
                // A start never goes, so what was marked before stays so, also where the one that follows it lies outside of this window.
                if (!isAgain || one.IsAgain)
                    continue;
                await db.DownloadTallies.Where(t => t.DownloadId == one.Download.Id).ExecuteUpdateAsync(s => s.SetProperty(t => t.IsAgain, true), cancellationToken);
                changed.AddRange(new[] { one.StartedAt, one.FinishedAt }.OfType<DateTimeOffset>());
            }
        }
        return changed;
    }
}

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
        var ids = started.Select(s => s.Id).Distinct(StringComparer.Ordinal).ToArray();
        var instants = await db.DownloadTallies.Where(t => EF.Parameter(ids).Contains(t.DownloadId)).Select(t => t.StartedAt!.Value).ToListAsync(cancellationToken);
        var changed = new List<DateTimeOffset>();
        foreach (var (from, to) in Stretches(instants))
            changed.AddRange(await MarkAsync(from, to, started, keys, cancellationToken));
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
        DateTimeOffset from, DateTimeOffset to, IReadOnlyList<FetchedBefore> started, HashSet<(long, long, string)?> keys, CancellationToken cancellationToken)
    {
        // While twenty thousand begin within a minute, few of them are those who are asked about.
        var archives = started.Select(s => s.ArchiveId).Distinct().ToArray();
        var people = started.Select(s => s.PersonId).OfType<long>().Distinct().ToArray();
        var visitors = started.Where(s => s.PersonId is null).Select(s => s.Visitor).OfType<string>().Distinct(StringComparer.Ordinal).ToArray();
        var near = await (from t in db.DownloadTallies
                          where t.StartedAt >= @from && t.StartedAt <= to
                          join d in db.Downloads on t.DownloadId equals d.Id
                          where EF.Parameter(archives).Contains(d.ArchiveId)
                              && (d.PersonId != null ? EF.Parameter(people).Contains(d.PersonId.Value) : d.Visitor != null && EF.Parameter(visitors).Contains(d.Visitor))
                          select new { t.StartedAt, t.FinishedAt, t.IsAgain, Download = new FetchedBefore(d.Id, d.ArchiveId, d.PersonId, d.Visitor) }).ToListAsync(cancellationToken);
        var (changed, again) = (new List<DateTimeOffset>(), new List<string>());
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
                again.Add(one.Download.Id);
                changed.AddRange(new[] { one.StartedAt, one.FinishedAt }.OfType<DateTimeOffset>());
            }
        }
        if (again.ToArray() is { Length: > 0 } ids)
            await db.DownloadTallies.Where(t => EF.Parameter(ids).Contains(t.DownloadId)).ExecuteUpdateAsync(s => s.SetProperty(t => t.IsAgain, true), cancellationToken);
        return changed;
    }
}

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

/// <summary>A download that counts as started.</summary>
internal sealed record StartedOnce(FetchedBefore Download, DateTimeOffset StartedAt, DateTimeOffset? FinishedAt, bool IsAgain);

/// <summary>
/// Finds double clicks among downloads that were just counted as started, and the others near them: each that is followed by another of the same person and
/// archive within <see cref="DownloadTally.AgainWithin"/> is not counted. Looks at the starts alone, so it does not matter in which order they were counted.
/// </summary>
internal sealed class MarkAgain(ShelfDb db)
{
    /// <summary>Starts that lie so many times further apart than is usual among them are looked at by themselves.</summary>
    private const int FarApart = 32;

    /// <param name="counted">All that were counted together and are started, and whether they are by this count. Their tallies are written.</param>
    /// <param name="before">The last event before theirs: of all others a tally's last is up to it.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>The instants whose days change by it.</returns>
    public async Task<IReadOnlyList<DateTimeOffset>> RunAsync(IReadOnlyList<(StartedOnce Start, bool IsNew)> counted, long before, CancellationToken cancellationToken)
    {
        var known = counted.Where(c => c.Start.Download.Key is not null).ToLookup(c => c.Start.Download.Key, c => c.Start);
        var changed = new List<DateTimeOffset>();
        foreach (var some in Stretches([.. counted.Where(c => c.IsNew && c.Start.Download.Key is not null).Select(c => c.Start).OrderBy(s => s.StartedAt)]))
            changed.AddRange(await MarkAsync(some, known, before, cancellationToken));
        return changed;
    }

    /// <summary>
    /// Those near each other in time, together: one question each, and what lies between is read with them. How near is told by how near they usually are, because
    /// of what is counted together nearly all was started one after another, and a question for each takes longer than the few that are read in vain. One of
    /// a week ago is far from the others, and the week is not read for it.
    /// </summary>
    private static List<List<StartedOnce>> Stretches(List<StartedOnce> inOrder)
    {
        var gaps = inOrder.Zip(inOrder.Skip(1), (a, b) => b.StartedAt - a.StartedAt).Order().ToList();
        var far = 2 * DownloadTally.AgainWithin + (gaps.Count == 0 ? TimeSpan.Zero : FarApart * gaps[gaps.Count / 2]);
        var stretches = new List<List<StartedOnce>>();
        foreach (var one in inOrder)
        {
            if (stretches.Count == 0 || one.StartedAt - stretches[^1][^1].StartedAt > far)
                stretches.Add([]);
            stretches[^1].Add(one);
        }
        return stretches;
    }

    /// <summary>Those counted together are at hand; only others are asked for, which mostly are few: going from a tally to its download takes longest.</summary>
    private async Task<List<DateTimeOffset>> MarkAsync(
        List<StartedOnce> started, ILookup<(long ArchiveId, long PersonId, string Visitor)?, StartedOnce> counted, long before, CancellationToken cancellationToken)
    {
        var (from, to) = (started[0].StartedAt - DownloadTally.AgainWithin, started[^1].StartedAt + DownloadTally.AgainWithin);
        var keys = started.Select(s => s.Download.Key).ToHashSet();
        // While twenty thousand begin within a minute, few of them are those who are asked about.
        var archives = started.Select(s => s.Download.ArchiveId).Distinct().ToArray();
        var people = started.Select(s => s.Download.PersonId).OfType<long>().Distinct().ToArray();
        var visitors = started.Where(s => s.Download.PersonId is null).Select(s => s.Download.Visitor).OfType<string>().Distinct(StringComparer.Ordinal).ToArray();
        var near = await (from t in db.DownloadTallies
                          where t.StartedAt >= @from && t.StartedAt <= to && t.LastEventId <= before
                          join d in db.Downloads on t.DownloadId equals d.Id
                          where EF.Parameter(archives).Contains(d.ArchiveId)
                              && (d.PersonId != null ? EF.Parameter(people).Contains(d.PersonId.Value) : d.Visitor != null && EF.Parameter(visitors).Contains(d.Visitor))
                          select new StartedOnce(new FetchedBefore(d.Id, d.ArchiveId, d.PersonId, d.Visitor), t.StartedAt!.Value, t.FinishedAt, t.IsAgain)).ToListAsync(cancellationToken);
        near.AddRange(keys.SelectMany(k => counted[k]).Where(s => s.StartedAt >= from && s.StartedAt <= to));
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

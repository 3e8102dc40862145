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
    /// <summary>Starts that lie so many times further apart than is usual among them are looked at by themselves.</summary>
    private const int FarApart = 32;

    /// <param name="started">Their tallies are written, with these starts.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>The instants whose days change by it.</returns>
    public async Task<IReadOnlyList<DateTimeOffset>> RunAsync(IReadOnlyList<(FetchedBefore Download, DateTimeOffset At)> started, CancellationToken cancellationToken)
    {
        var known = started.Where(s => s.Download.Key is not null).OrderBy(s => s.At).ToList();
        var changed = new List<DateTimeOffset>();
        foreach (var some in Stretches(known))
            changed.AddRange(await MarkAsync(some[0].At - DownloadTally.AgainWithin, some[^1].At + DownloadTally.AgainWithin, some.ConvertAll(s => s.Download), cancellationToken));
        return changed;
    }

    /// <summary>
    /// Those near each other in time, together: one question each, and what lies between is read with them. How near is told by how near they usually are, because
    /// of what is counted together nearly all was started one after another, and a question for each takes longer than the few that are read in vain. One of
    /// a week ago is far from the others, and the week is not read for it.
    /// </summary>
    private static List<List<(FetchedBefore Download, DateTimeOffset At)>> Stretches(List<(FetchedBefore Download, DateTimeOffset At)> inOrder)
    {
        var gaps = inOrder.Zip(inOrder.Skip(1), (a, b) => b.At - a.At).Order().ToList();
        var far = 2 * DownloadTally.AgainWithin + (gaps.Count == 0 ? TimeSpan.Zero : FarApart * gaps[gaps.Count / 2]);
        var stretches = new List<List<(FetchedBefore Download, DateTimeOffset At)>>();
        foreach (var one in inOrder)
        {
            if (stretches.Count == 0 || one.At - stretches[^1][^1].At > far)
                stretches.Add([]);
            stretches[^1].Add(one);
        }
        return stretches;
    }

    private async Task<List<DateTimeOffset>> MarkAsync(
        DateTimeOffset from, DateTimeOffset to, List<FetchedBefore> started, CancellationToken cancellationToken)
    {
        var keys = started.Select(s => s.Key).ToHashSet();
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

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// The <see cref="LinkUse"/> of every link lately asked for, in memory within a bound: adding up a download's events on each request
/// would cost more the more pieces it was fetched in. Read from the events once, from then on counted along.
/// </summary>
/// <remarks>
/// Evidence of a resume is no traffic; it is one event of the link like others. After a restart what the kill kept from being written is forgotten (at most
/// the last stretch of each running answer), in favour of the person. Two hosts on one database would each count their own.
/// </remarks>
public sealed class LinkUses(IOptions<ShelfSettings> settings)
{
    /// <summary>About 100 bytes each.</summary>
    internal const int Most = 20_000;

    private readonly Lock _lock = new();
    private readonly Dictionary<string, LinkUse> _known = [];

    internal int Count { get { lock (_lock) return _known.Count; } }

    internal async ValueTask<LinkUse> OfAsync(ShelfDb db, Download download, long length, CancellationToken cancellationToken)
    {
        lock (_lock)
            if (_known.TryGetValue(download.Id, out var known)) return known;
        // What was never started has no events: no need to ask.
        var sofar = download.StartedAt is null ? null : await db.DownloadEvents.Where(e => e.DownloadId == download.Id).GroupBy(_ => 1)
            .Select(g => new { Bytes = g.Sum(e => e.IsEvidence ? 0 : e.To - e.From), Events = g.Count() }).SingleOrDefaultAsync(cancellationToken);
        return Keep(download.Id, new(length, settings.Value.Links.MostDownloads, sofar?.Bytes ?? 0, sofar?.Events ?? 0));
    }

    private LinkUse Keep(string downloadId, LinkUse fresh)
    {
        lock (_lock)
        {
            if (_known.TryGetValue(downloadId, out var known)) return known;
            // All that are idle at once, so that it happens seldom; who comes back is read from the events again.
            if (_known.Count >= Most)
                foreach (var id in _known.Where(k => k.Value.IsIdle).Select(k => k.Key).ToList())
                    _known.Remove(id);
            return _known[downloadId] = fresh;
        }
    }
}

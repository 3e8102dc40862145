using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Statistics;

/// <summary>One pressed button. <paramref name="Email"/> is null for a visitor who was not signed in.</summary>
/// <param name="Title">Of the box; of a whole month which one, and there is no number.</param>
/// <param name="FinishedAt">Every byte was handed over, as last counted.</param>
/// <param name="FromNumber">Of an update archive: the version it is from. Null: the whole library.</param>
public sealed record DownloadLine(Download Download, string? Email, string Title, string Number, DateTimeOffset? FinishedAt, string? FromNumber)
{
    public bool IsMaker => Download.Why == MayDownloadWhy.Maker;
}

/// <param name="About">The person or box that was asked for, in words; null: everything.</param>
/// <param name="OpenLinks">How many links of these still open, also those not listed; at most <see cref="ReadDownloads.MostOpen"/> are counted.</param>
/// <param name="Older">Where the list goes on; null: there are no older ones.</param>
public sealed record RecentDownloads(IReadOnlyList<DownloadLine> Lines, string? About, int OpenLinks, DownloadsFrom? Older);

/// <summary>Where a list of the newest downloads begins: it is told without naming a download, whose id is a part of its link.</summary>
/// <param name="MadeAt">Unix milliseconds; the first was made then, or before.</param>
/// <param name="Skip">So many of that millisecond stood in the lists before this one.</param>
public sealed record DownloadsFrom(long MadeAt, int Skip);

/// <summary>The newest downloads, so that a link can be found and closed. As many are read as are listed, however many there are.</summary>
public sealed class ReadDownloads(ShelfDb db, TimeProvider clock)
{
    public const int Most = 200;

    /// <summary>Of everybody's open links; of one person's all are counted, because they may all be closed.</summary>
    public const int MostOpen = 1_000;

    /// <param name="personId">One person's alone; null: everybody's.</param>
    /// <param name="librarySlug">Of one box alone; null or empty: of all.</param>
    /// <param name="from">These and older ones; null: the newest.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>Null when there is no such person or box.</returns>
    public async Task<RecentDownloads?> RunAsync(long? personId, string? librarySlug, DownloadsFrom? from, CancellationToken cancellationToken)
    {
        var about = new List<string>();
        if (personId is not null)
        {
            if (await db.Users.Where(p => p.Id == personId).Select(p => p.Email).FirstOrDefaultAsync(cancellationToken) is not { } email) return null;
            about.Add(email);
        }
        Library? library = null;
        if (!string.IsNullOrEmpty(librarySlug))
        {
            library = await db.Libraries.AsNoTracking().FirstOrDefaultAsync(l => l.Slug == librarySlug, cancellationToken);
            if (library is null) return null;
            about.Add(library.Title);
        }
        var parts = await PartsAsync(personId, library?.Id, cancellationToken);
        var ids = await NewestAsync(parts, from, cancellationToken);
        var lines = await LinesAsync([.. ids.Take(Most).Select(i => i.Id)], cancellationToken);
        return new(lines, about.Count == 0 ? null : string.Join(", ", about), await OpenAsync(parts, personId is not null, cancellationToken), ids.Count > Most ? After(ids[Most - 1].MadeAt, lines, from) : null);
    }

    /// <param name="All">Some downloads, in the order of an index.</param>
    /// <param name="Further">Those of them that are in no part before this one.</param>
    private sealed record Part(IQueryable<Download> All, IQueryable<Download> Further);

    /// <summary>Downloads that are asked about, in parts that have an index each: a box's own, and those of months it was in.</summary>
    private async Task<List<Part>> PartsAsync(long? personId, long? libraryId, CancellationToken cancellationToken)
    {
        var downloads = personId is null ? db.Downloads.AsNoTracking() : db.Downloads.AsNoTracking().Where(d => d.PersonId == personId);
        if (libraryId is null)
            return [new(downloads, downloads)];
        var months = await (from m in db.DropReleases join r in db.Releases on m.ReleaseId equals r.Id where r.LibraryId == libraryId select m.DropId).Distinct().ToListAsync(cancellationToken);
        // A month whose first version is the box's is among its own.
        var own = downloads.Where(d => d.LibraryId == libraryId);
        return [new(own, own), .. months.Select(month => downloads.Where(d => d.DropId == month)).Select(m => new Part(m, m.Where(d => d.LibraryId != libraryId)))];
    }

    private static async Task<List<(string Id, DateTimeOffset MadeAt)>> NewestAsync(List<Part> parts, DownloadsFrom? from, CancellationToken cancellationToken)
    {
        var newest = new List<(string Id, DateTimeOffset MadeAt)>();
        var most = Most + 1 + (from?.Skip ?? 0);
        // Asked for also where it says nothing: else SQLite would sort all of a table by the two, of which its index has only the first.
        var at = from is null ? DateTimeOffset.MaxValue : DateTimeOffset.FromUnixTimeMilliseconds(from.MadeAt);
        foreach (var part in parts)
            newest.AddRange((await part.All.Where(d => d.MadeAt <= at).OrderByDescending(d => d.MadeAt).ThenBy(d => d.Id).Take(most).Select(d => new { d.Id, d.MadeAt }).ToListAsync(cancellationToken))
                .Select(d => (d.Id, d.MadeAt)));
        // The newest of all are among the newest of each, some of them twice: to leave these out of a part would have all of a month looked at where all are the box's.
        return [.. newest.DistinctBy(d => d.Id, StringComparer.Ordinal).OrderByDescending(d => d.MadeAt).ThenBy(d => d.Id, StringComparer.Ordinal).Skip(from?.Skip ?? 0).Take(Most + 1)];
    }

    private static DownloadsFrom After(DateTimeOffset last, List<DownloadLine> lines, DownloadsFrom? from)
    {
        var same = lines.Count(l => l.Download.MadeAt == last);
        // Where all are of the one millisecond with which the list began, those before it are passed over again.
        return new(last.ToUnixTimeMilliseconds(), same + (from is { } first && first.MadeAt == last.ToUnixTimeMilliseconds() ? first.Skip : 0));
    }

    /// <summary>Links are looked at that are no older than any can live.</summary>
    private async Task<int> OpenAsync(List<Part> parts, bool isEach, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var (oldest, open) = (now - LinkKeyRing.RetiredLife, 0);
        foreach (var part in parts)
        {
            var links = part.Further.Where(d => d.MadeAt >= oldest).Where(Download.IsOpenAt(now));
            open += await (isEach ? links : links.Take(MostOpen)).CountAsync(cancellationToken);
        }
        return isEach ? open : Math.Min(MostOpen, open);
    }

    private async Task<List<DownloadLine>> LinesAsync(string[] ids, CancellationToken cancellationToken)
    {
        var rows = await (from d in db.Downloads.AsNoTracking().Where(d => EF.Parameter(ids).Contains(d.Id))
             join r in db.Releases on d.ReleaseId equals r.Id
             join l in db.Libraries on d.LibraryId equals l.Id
             join p in db.Users on d.PersonId equals (long?)p.Id into people
             from p in people.DefaultIfEmpty()
             join t in db.DownloadTallies on d.Id equals t.DownloadId into tallies
             from t in tallies.DefaultIfEmpty()
             join f in db.Releases on d.FromReleaseId equals (long?)f.Id into froms
             from f in froms.DefaultIfEmpty()
             join m in db.Drops on d.DropId equals (long?)m.Id into drops
             from m in drops.DefaultIfEmpty()
             orderby d.MadeAt descending, d.Id
             select new { Line = new DownloadLine(d, p!.Email, l.Title, r.Number, t!.FinishedAt, f!.Number), Drop = m })
            .ToListAsync(cancellationToken);
        return rows.ConvertAll(r => r.Drop is null ? r.Line : r.Line with { Title = r.Drop.WholeName, Number = "" });
    }
}

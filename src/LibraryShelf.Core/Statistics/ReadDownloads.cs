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
/// <param name="OpenLinks">How many links of these still open, also those not listed.</param>
/// <param name="IsCut">There are older ones.</param>
public sealed record RecentDownloads(IReadOnlyList<DownloadLine> Lines, string? About, int OpenLinks, bool IsCut);

/// <summary>The newest downloads, so that a link can be found and closed.</summary>
public sealed class ReadDownloads(ShelfDb db, TimeProvider clock)
{
    public const int Most = 200;

    /// <param name="personId">One person's alone; null: everybody's.</param>
    /// <param name="librarySlug">Of one box alone; null or empty: of all.</param>
    /// <returns>Null when there is no such person or box.</returns>
    public async Task<RecentDownloads?> RunAsync(long? personId, string? librarySlug, CancellationToken cancellationToken)
    {
        var downloads = db.Downloads.AsNoTracking();
        var about = new List<string>();
        if (personId is not null)
        {
            if (await db.Users.Where(p => p.Id == personId).Select(p => p.Email).FirstOrDefaultAsync(cancellationToken) is not { } email) return null;
            downloads = downloads.Where(d => d.PersonId == personId);
            about.Add(email);
        }
        if (!string.IsNullOrEmpty(librarySlug))
        {
            if (await db.Libraries.FirstOrDefaultAsync(l => l.Slug == librarySlug, cancellationToken) is not { } library) return null;
            downloads = downloads.Where(d => d.LibraryId == library.Id
                || (d.DropId != null && db.DropReleases.Any(m => m.DropId == d.DropId && db.Releases.Any(r => r.Id == m.ReleaseId && r.LibraryId == library.Id))));
            about.Add(library.Title);
        }
        var lines = await NewestAsync(downloads, cancellationToken);
        var open = await downloads.CountAsync(Download.IsOpenAt(clock.GetUtcNow()), cancellationToken);
        return new([.. lines.Take(Most)], about.Count == 0 ? null : string.Join(", ", about), open, lines.Count > Most);
    }

    private async Task<List<DownloadLine>> NewestAsync(IQueryable<Download> downloads, CancellationToken cancellationToken)
    {
        var rows = await (from d in downloads.OrderByDescending(d => d.MadeAt).ThenBy(d => d.Id).Take(Most + 1)
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

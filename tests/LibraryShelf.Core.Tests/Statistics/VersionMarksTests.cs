using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>Whose versions of which library are worked out anew, and whose are not.</summary>
public sealed class VersionMarksTests
{
    private const long Kettle = 1, Marimba = 2, Older = 11, Newer = 12, OfMarimba = 21;

    [Fact]
    public async Task Of_a_finished_download_its_library_alone_is_worked_out()
    {
        await using var shelf = await StockAsync(people: 1);
        await using var db = shelf.Open();
        Download(db, shelf, 1, Kettle, Older);
        Download(db, shelf, 1, Marimba, OfMarimba);
        await db.SaveChangesAsync();
        await new RollUpVersions(db, shelf.Clock).RunAsync(default);
        Assert.Equal(2, await db.PersonVersions.CountAsync());

        // Nobody says that the other's changed: had it been looked at, its row would be gone.
        await db.DownloadTallies.Where(t => t.DownloadId == Name(1, OfMarimba)).ExecuteUpdateAsync(s => s.SetProperty(t => t.FinishedAt, (DateTimeOffset?)null));
        db.Downloads.Add(new Download { Id = "new", ArchiveId = Newer, ReleaseId = Newer, LibraryId = Kettle, PersonId = 1, Why = MayDownloadWhy.Free, StartedAt = shelf.Clock.GetUtcNow() });
        db.DownloadEvents.Add(new DownloadEvent { DownloadId = "new", From = 0, To = 24, BeginsAnswer = true, At = shelf.Clock.GetUtcNow().AddMinutes(1) });
        await db.SaveChangesAsync();
        await new CountDownloads(db).RunAsync(default);
        Assert.Equal([(Kettle, 1L)], (await db.VersionMarks.AsNoTracking().ToListAsync()).ConvertAll(m => (m.LibraryId, m.PersonId)));
        Assert.True(await new RollUpVersions(db, shelf.Clock).RunAsync(default));
        Assert.Equal([Older, Newer, OfMarimba], await db.PersonVersions.Select(v => v.ReleaseId).Order().ToListAsync());
    }

    /// <summary>Who waits for the writer is dated before it is written: people may have come, and been worked out, in between.</summary>
    [Fact]
    public async Task Whoever_came_between_a_version_s_instant_and_its_row_had_the_box_when_it_was_out()
    {
        await using var shelf = await StockAsync(people: 3);
        await using var db = shelf.Open();
        Download(db, shelf, 1, Kettle, Older);
        shelf.Clock.Advance(TimeSpan.FromMinutes(5));
        var outAt = shelf.Clock.GetUtcNow();
        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Download(db, shelf, 2, Kettle, Older);
        Download(db, shelf, 3, Marimba, OfMarimba);
        await db.SaveChangesAsync();
        await new RollUpVersions(db, shelf.Clock).RunAsync(default);
        Assert.Equal([(1, Older), (2, Older), (3, OfMarimba)], await LatestThenAsync(db));

        await db.Releases.Where(r => r.Id == Newer).ExecuteUpdateAsync(s => s.SetProperty(r => r.PublishedAt, outAt));
        Assert.True(await RollUpVersions.IsLeftAsync(db, default));
        Assert.True(await new RollUpVersions(db, shelf.Clock).RunAsync(default));
        Assert.Equal([(1, Older), (2, Newer), (3, OfMarimba)], await LatestThenAsync(db));
        Assert.False(await RollUpVersions.IsLeftAsync(db, default));
    }

    private static async Task<List<(long, long)>> LatestThenAsync(ShelfDb db) =>
        (await db.PersonVersions.AsNoTracking().OrderBy(v => v.PersonId).ToListAsync()).ConvertAll(v => (v.PersonId, v.LatestThenId));

    private static string Name(long person, long release) => $"{person} {release}";

    /// <summary>Finished now.</summary>
    private static void Download(ShelfDb db, TempShelf shelf, long person, long library, long release)
    {
        db.Downloads.Add(new Download { Id = Name(person, release), ArchiveId = release, ReleaseId = release, LibraryId = library, PersonId = person, Why = MayDownloadWhy.Free, StartedAt = shelf.Clock.GetUtcNow() });
        db.DownloadTallies.Add(new DownloadTally { DownloadId = Name(person, release), StartedAt = shelf.Clock.GetUtcNow(), FinishedAt = shelf.Clock.GetUtcNow() });
    }

    /// <summary>Two boxes; of the first a second version is sealed and not out.</summary>
    private static async Task<TempShelf> StockAsync(int people)
    {
        var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var early = shelf.Clock.GetUtcNow().AddDays(-9);
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room" });
        for (var id = 1; id <= people; id++)
            db.Users.Add(new Person { Id = id, Email = $"p{id}@example.org", NormalizedEmail = $"P{id}@EXAMPLE.ORG", UserName = $"p{id}", NormalizedUserName = $"P{id}", SecurityStamp = "s" });
        db.Libraries.AddRange(new Library { Id = Kettle, Slug = "kettle", Title = "Kettle" }, new Library { Id = Marimba, Slug = "marimba", Title = "Marimba" });
        foreach (var (id, library, number, outAt) in new (long, long, string, DateTimeOffset?)[] { (Older, Kettle, "1.0.0", early), (Newer, Kettle, "2.0.0", null), (OfMarimba, Marimba, "1.0.0", early) })
        {
            db.Releases.Add(new Release { Id = id, LibraryId = library, Number = number, SealedAt = early, PublishedAt = outAt });
            db.Archives.Add(new Archive { Id = id, ReleaseId = id, RecipeSha256 = $"{id}", Length = 24, FileName = $"{id}.zip" });
        }
        await db.SaveChangesAsync();
        return shelf;
    }
}

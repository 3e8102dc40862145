using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

public sealed class ReadDownloadsTests
{
    /// <summary>Everything, a box of its own and in two months, and one person: page by page each once, the newest first, also where hundreds were made in one millisecond.</summary>
    [Theory]
    [InlineData(false, false, 1)]
    [InlineData(true, false, 2)]
    [InlineData(false, true, 3)]
    [InlineData(true, true, 4)]
    public async Task From_page_to_page_each_download_is_listed_once_the_newest_first(bool isOfBox, bool isOfPerson, int seed)
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var person = await shelf.PersonAsync("wren@example.org");
        var other = await OtherBoxAsync(shelf);
        var (random, made) = (new Random(seed), new List<Download>());
        for (var i = 0; i < 900; i++)
        {
            var isOther = random.Next(3) == 0;
            made.Add(new Download
            {
                Id = $"d{random.Next(1_000_000):000000}-{i}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = isOther ? other : shelf.LibraryId, Why = MayDownloadWhy.Free,
                PersonId = random.Next(4) > 0 ? person : null, DropId = random.Next(5) == 0 ? random.Next(3, 6) : null,
                // Half of them at one of two instants.
                MadeAt = random.Next(2) == 0 ? shelf.Now.AddMinutes(-random.Next(2)) : shelf.Now.AddMinutes(-random.Next(5_000)), FinishBy = shelf.Now.AddHours(1), StartBy = shelf.Now.AddHours(1),
                RevokedAt = random.Next(2) == 0 ? shelf.Now : null,
            });
        }
        await shelf.WithAsync(db =>
        {
            db.Downloads.AddRange(made);
            return db.SaveChangesAsync();
        });
        // The box is in the months 3 and 4, the other one in 5.
        var expected = made.Where(d => (!isOfPerson || d.PersonId == person) && (!isOfBox || d.LibraryId == shelf.LibraryId || d.DropId is 3 or 4))
            .OrderByDescending(d => d.MadeAt).ThenBy(d => d.Id, StringComparer.Ordinal).ToList();
        var slug = await shelf.WithAsync(db => db.Libraries.Where(l => l.Id == shelf.LibraryId).Select(l => l.Slug).SingleAsync());
        var (listed, from, pages) = (new List<string>(), (DownloadsFrom?)null, 0);
        do
        {
            var page = (await shelf.WithAsync(db => new ReadDownloads(db, shelf.Temp.Clock).RunAsync(isOfPerson ? person : null, isOfBox ? slug : null, from, default)))!;
            Assert.Equal(expected.Count(d => d.RevokedAt is null && d.MadeAt >= shelf.Now.AddDays(-15)), page.OpenLinks);
            listed.AddRange(page.Lines.Select(l => l.Download.Id));
            from = page.Older;
            pages++;
        }
        while (from is not null);
        Assert.Equal(expected.Select(d => d.Id), listed);
        Assert.True(pages > 2);
    }

    private static Task<long> OtherBoxAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        var library = new Core.Catalog.Library { Slug = "kettle", Title = "Kettle", CreatedAt = shelf.Now };
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        var release = new Core.Catalog.Release { LibraryId = library.Id, Number = "1.0.0" };
        var second = new Core.Catalog.Release { LibraryId = shelf.LibraryId, Number = "9.0.0" };
        db.Releases.AddRange(release, second);
        for (var month = 3; month < 6; month++)
            db.Drops.Add(new Drop { Id = month, Month = new YearMonth(2026, month), State = DropState.Sent, SentAt = shelf.Now, CreatedAt = shelf.Now });
        await db.SaveChangesAsync();
        db.DropReleases.AddRange(new DropRelease { DropId = 3, ReleaseId = shelf.ReleaseId }, new DropRelease { DropId = 4, ReleaseId = second.Id }, new DropRelease { DropId = 5, ReleaseId = release.Id });
        await db.SaveChangesAsync();
        return library.Id;
    });
}

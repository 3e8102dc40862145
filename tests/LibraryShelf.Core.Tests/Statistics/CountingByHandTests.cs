using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>The SQL that docs/counting.md offers is run as it stands there and held against the page's figures.</summary>
public sealed class CountingByHandTests
{
    [Fact]
    public async Task The_documents_SQL_and_the_page_agree()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var random = new Random(11);
        await shelf.WithAsync(db =>
        {
            db.Drops.Add(new Drop { Id = 7, Month = new(2026, 11) });
            return db.SaveChangesAsync();
        });
        // What the sums leave out: a robot's, and the earlier of two presses.
        await shelf.WithAsync(db =>
        {
            foreach (var (id, seconds) in new[] { ("robot", 0), ("twice-1", 0), ("twice-2", 10) })
            {
                db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, StartedAt = shelf.Now.AddHours(-1).AddSeconds(seconds), Visitor = id[..5], IsRobot = id == "robot" });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = 0, To = shelf.Length, BeginsAnswer = true, At = shelf.Now.AddHours(-1).AddSeconds(seconds) });
            }
            return db.SaveChangesAsync();
        });
        for (var i = 0; i < 40; i++) await AddAsync(shelf, $"d{i}", random, i % 5 == 0 ? 7 : null);
        await shelf.WithAsync(db => new CountDownloads(db).RunAsync(default));
        await shelf.WithAsync(db => new RollUpDays(db, shelf.Temp.Clock).RunAsync(default));
        var both = await shelf.WithAsync(db => new ReadNumbersLines(db, shelf.Temp.Clock).RunAsync(null, today => DayRange.Read(null, null, today, 60), default).ToListAsync().AsTask());
        var (numbers, months) = (SumOf(both.Where(l => l.Slug.Length > 0)), SumOf(both.Where(l => l.Title == NumbersLine.WholeMonths)));
        Assert.InRange(months.Started, 2, 8);
        Assert.Equal([$"2026-11|{months.Started}|{months.Finished}"], await RunAsync(shelf, CountingDocument.Sql()[2]));
        Assert.InRange(numbers.Finished, 1, numbers.Started - 1);

        Assert.Equal([$"Mended Kettle|1.0.0|{numbers.Started}|{numbers.Finished}"], await RunAsync(shelf, CountingDocument.Sql()[1]));
        var today = SumOf(both.Where(l => l.Slug.Length > 0 && l.Day == NodaTime.LocalDate.FromDateTime(shelf.Now.UtcDateTime)));
        Assert.InRange(today.Started, 1, numbers.Started - 1);
        Assert.Equal([$"Mended Kettle|1.0.0|{today.Started}|{today.Finished}"], await RunAsync(shelf, CountingDocument.Sql()[3]));
        Assert.Empty(await RunAsync(shelf, CountingDocument.Sql()[4]));
        foreach (var tally in await shelf.WithAsync(db => db.DownloadTallies.AsNoTracking().ToListAsync()))
        {
            Assert.Equal([$"{await HandedOverAsync(shelf, tally.DownloadId)}"], await RunAsync(shelf, CountingDocument.Sql()[0].Replace("the download''s id", tally.DownloadId, StringComparison.Ordinal)));
            var islands = await RunAsync(shelf, CountingDocument.Sql()[5].Replace("the download''s id", tally.DownloadId, StringComparison.Ordinal));
            Assert.Equal(tally.FinishedAt is not null, islands is [var only] && only == $"0|{shelf.Length}");
            Assert.Equal(tally.BytesCovered, islands.Sum(i => long.Parse(i.Split('|')[1]) - long.Parse(i.Split('|')[0])));
        }
    }

    private static (int Started, int Finished) SumOf(IEnumerable<NumbersLine> lines) => lines.Aggregate((0, 0), (sum, l) => (sum.Item1 + l.Started, sum.Item2 + l.Finished));

    private static Task<long> HandedOverAsync(StockedShelf shelf, string id) => shelf.WithAsync(async db =>
        (await db.DownloadEvents.AsNoTracking().Where(e => e.DownloadId == id).ToListAsync()).Where(e => !e.IsEvidence).Sum(e => e.To - e.From));

    /// <summary>A download of the last days, of a version or a month, of the maker's now and then, in up to four overlapping stretches.</summary>
    private static Task AddAsync(StockedShelf shelf, string id, Random random, long? dropId) => shelf.WithAsync(db =>
    {
        var started = shelf.Now.AddHours(-random.Next(60));
        db.Downloads.Add(new Download
        {
            Id = id, ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, DropId = dropId, StartedAt = started,
            Why = random.Next(5) == 0 ? MayDownloadWhy.Maker : MayDownloadWhy.Free,
        });
        for (var n = 0; n < 4; n++)
        {
            long a = random.Next(2) == 0 ? 0 : random.Next((int)shelf.Length), b = random.Next(2) == 0 ? shelf.Length : random.Next((int)shelf.Length);
            if (a != b) db.DownloadEvents.Add(new DownloadEvent { DownloadId = id, From = Math.Min(a, b), To = Math.Max(a, b), IsEvidence = n == 3, At = started.AddMinutes(n) });
        }
        return db.SaveChangesAsync();
    });

    private static async Task<List<string>> RunAsync(StockedShelf shelf, string sql)
    {
        await using var db = shelf.Temp.Open();
        await db.Database.OpenConnectionAsync();
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.CommandText = sql;
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync()) rows.Add(string.Join('|', Enumerable.Range(0, reader.FieldCount).Select(reader.GetValue)));
        return rows;
    }
}

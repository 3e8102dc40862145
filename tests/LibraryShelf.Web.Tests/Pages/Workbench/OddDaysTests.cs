using System.Globalization;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>Page, file and what is counted by hand, of days that are not like others, for a shop far from UTC.</summary>
public sealed class OddDaysTests
{
    private const long Length = 10;

    /// <summary>Midnights in Unix milliseconds by GNU date and the IANA tz database: TZ=Pacific/Auckland date -d '2026-04-05 00:00' +%s000. What is started and finished is by hand, see <see cref="FillAsync"/>.</summary>
    private static readonly (string Day, string Words, int Hours, long From, long To, int Started, int Finished, int ByMembers)[] Days =
    [
        ("2026-04-05", "5 April 2026", 25, 1775300400000, 1775390400000, 3, 3, 0),
        ("2026-09-27", "27 September 2026", 23, 1790424000000, 1790506800000, 3, 3, 0),
        // Its last moment is where what is finished in the first one of the year was started.
        ("2027-12-31", "31 December 2027", 24, 1830164400000, 1830250800000, 4, 3, 0),
        ("2028-01-01", "1 January 2028", 24, 1830250800000, 1830337200000, 3, 4, 1),
        ("2028-02-29", "29 February 2028", 24, 1835348400000, 1835434800000, 3, 3, 0),
    ];

    [Fact]
    public async Task Days_with_23_and_25_hours_a_leap_day_and_the_turn_of_the_year_are_the_same_on_the_page_in_the_file_and_by_hand()
    {
        await using var host = new ShelfHost { Clock = new(new DateTimeOffset(2028, 3, 3, 12, 0, 0, TimeSpan.Zero)) };
        await host.ClaimAsync();
        await host.WithDbAsync(FillAsync);
        await host.RunAsync<CountDownloads, int>(count => count.RunAsync(default));
        await host.RunAsync<RollUpDays, int>(roll => roll.RunAsync(default));
        var maker = await host.MakerAsync();
        foreach (var (day, words, hours, from, to, started, finished, byMembers) in Days)
        {
            Assert.Equal(hours, (to - from) / 3_600_000);
            var address = $"/workbench/numbers/downloads?from={day}&to={day}";
            var page = await maker.PageAsync(address);
            Assert.Equal($"|1.0.0|{started}|{finished}|{finished - byMembers}|{byMembers}", Row(page.QuerySelectorAll("#versions tr")[^1]));
            Assert.Contains($"{words}|{started}|{finished}", page.QuerySelectorAll("details tr").Select(Row));
            Assert.Equal(
                $"day,box,title,version,started,finished,started_free,finished_free,started_members,finished_members\r\n{day},tin-roof,Tin Roof,1.0.0,{started},{finished},{started - 1},{finished - byMembers},1,{byMembers}\r\n",
                await maker.GetStringAsync(new Uri(address + "&handler=Csv", UriKind.Relative)));
            Assert.Equal([$"Tin Roof|1.0.0|{started}|{finished}"], await host.AskDbAsync(db => ByHandAsync(db, from, to)));
        }
        // What a member fetched in the middle of the year's last day was finished in the new year's first moment.
        Assert.Equal("|1.0.0|7|7|6|1", Row((await maker.PageAsync("/workbench/numbers/downloads?from=2027-12-31&to=2028-01-01")).QuerySelectorAll("#versions tr")[^1]));
    }

    /// <summary>
    /// Of each day: what was started in the moment before it and finished in its first; what was started in its first and finished in its last; in its middle, by a
    /// member, and finished in the next day's first; in its last, and finished at once. A robot's and the maker's are in none of the figures.
    /// </summary>
    private static async Task FillAsync(Core.Data.ShelfDb db)
    {
        await db.Shops.ExecuteUpdateAsync(s => s.SetProperty(x => x.TimeZone, "Pacific/Auckland"));
        var library = new Library { Slug = "tin-roof", Title = "Tin Roof" };
        library.Releases.Add(new Release { Number = "1.0.0" });
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive { Id = 1, ReleaseId = library.Releases[0].Id, RecipeSha256 = "r", Length = Length, FileName = "r.zip" });
        foreach (var (day, _, _, from, to, _, _, _) in Days)
        {
            var middle = (from + to) / 2;
            Add($"{day} before", from - 1, from, MayDownloadWhy.Free);
            Add($"{day} first", from, to - 1, MayDownloadWhy.Free);
            // Of the year's last day alone the next is looked at.
            Add($"{day} middle", middle, to, MayDownloadWhy.Member);
            Add($"{day} last", to - 1, to - 1, MayDownloadWhy.Free);
            Add($"{day} robot", middle, middle, MayDownloadWhy.Free, isRobot: true);
            Add($"{day} maker", middle, middle, MayDownloadWhy.Maker);
        }
        await db.SaveChangesAsync();

        void Add(string id, long starts, long ends, MayDownloadWhy why, bool isRobot = false)
        {
            db.Downloads.Add(new Download { Id = id, ArchiveId = 1, ReleaseId = library.Releases[0].Id, LibraryId = library.Id, Why = why, IsRobot = isRobot, StartedAt = DateTimeOffset.FromUnixTimeMilliseconds(starts) });
            db.DownloadEvents.AddRange(
                new DownloadEvent { DownloadId = id, From = 0, To = Length - 3, BeginsAnswer = true, At = DateTimeOffset.FromUnixTimeMilliseconds(starts) },
                new DownloadEvent { DownloadId = id, From = Length - 3, To = Length, At = DateTimeOffset.FromUnixTimeMilliseconds(ends) });
        }
    }

    private static async Task<List<string>> ByHandAsync(Core.Data.ShelfDb db, long from, long to)
    {
        Assert.Contains(CountingDocument.Midnights, CountingDocument.OfADay, StringComparison.Ordinal);
        await db.Database.OpenConnectionAsync();
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.CommandText = CountingDocument.OfADay.Replace(CountingDocument.Midnights, string.Create(CultureInfo.InvariantCulture, $"SELECT {from}, {to}"), StringComparison.Ordinal);
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync())
            rows.Add(string.Join('|', Enumerable.Range(0, reader.FieldCount).Select(reader.GetValue)));
        return rows;
    }

    private static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words()));
}

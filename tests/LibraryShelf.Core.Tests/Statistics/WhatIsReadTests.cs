using Microsoft.Extensions.Options;
using LibraryShelf.Core.Shared;
using System.Data.Common;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Tests.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using NodaTime;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>With twenty million downloads it matters which rows are looked at, not only which are told.</summary>
public sealed partial class WhatIsReadTests
{
    /// <summary>Writes down what is asked.</summary>
    private sealed class Listens : DbCommandInterceptor
    {
        public List<string> Asked { get; } = [];

        public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            Asked.Add(command.CommandText);
            return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }

    [GeneratedRegex("\"(Downloads|DownloadEvents|DownloadTallies)\"")]
    private static partial Regex Raw();

    /// <summary>A whole one, an update, a month and a visitor's, over a turn of the month; counted and rolled up.</summary>
    private static async Task<List<string>> CountAsync(StockedShelf shelf)
    {
        var at = new DateTimeOffset(2026, 10, 31, 23, 0, 0, TimeSpan.Zero);
        var listens = new Listens();
        await shelf.WithAsync(db =>
        {
            db.Users.Add(new Person { Id = 5, UserName = "wren@post.example", NormalizedUserName = "WREN@POST.EXAMPLE", SecurityStamp = "x" });
            db.MembershipGrants.Add(new MembershipGrant { PersonId = 5, From = at.AddDays(-9) });
            db.Drops.Add(new Drop { Id = 3, Month = new YearMonth(2026, 10), State = DropState.Sent, SentAt = at.AddDays(-1), CreatedAt = at });
            db.DropReleases.Add(new DropRelease { DropId = 3, ReleaseId = shelf.ReleaseId });
            for (var i = 0; i < 4; i++)
            {
                db.Downloads.Add(new Download
                {
                    Id = $"d{i}", ArchiveId = 1, ReleaseId = shelf.ReleaseId, LibraryId = shelf.LibraryId, Why = i == 3 ? MayDownloadWhy.Free : MayDownloadWhy.Member, PersonId = i == 3 ? null : 5,
                    Visitor = i == 3 ? "v" : null, DropId = i == 2 ? 3 : null, StartedAt = at.AddMinutes(i * 10),
                });
                db.DownloadEvents.Add(new DownloadEvent { DownloadId = $"d{i}", From = 0, To = shelf.Length, BeginsAnswer = true, At = at.AddMinutes(i * 10 + 58) });
            }
            return db.SaveChangesAsync();
        });
        await using var db = shelf.Temp.Open(listens);
        await new CountDownloads(db).RunAsync(default);
        await new RollUpDays(db, shelf.Temp.Clock).RunAsync(default);
        await new RollUpMonths(db, shelf.Temp.Clock).RunAsync(default);
        Assert.Equal(1, await new RollUpDrops(db, shelf.Temp.Clock).RunAsync(default));
        Assert.True(await new RollUpVersions(db, shelf.Temp.Clock).RunAsync(default));
        Assert.Equal(1, await db.PersonVersions.CountAsync());
        return listens.Asked;
    }

    [Fact]
    public async Task Pages_of_figures_look_at_no_download()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        Assert.Contains(await CountAsync(shelf), Raw().IsMatch);
        var listens = new Listens();
        await using var db = shelf.Temp.Open(listens);
        var clock = shelf.Temp.Clock;
        var slug = await db.Libraries.Select(l => l.Slug).SingleAsync();
        // Of one box: the whole ones and the visitor's, not the month.
        foreach (var from in new[] { null, "2026-10-15", "2020-01-01" })
        {
            DayRange Range(LocalDate today) => DayRange.Read(from, null, today, 20);
            Assert.Equal(from is null ? 0 : 3, (await new ReadNumbers(db, clock).RunAsync(slug, Range, default)).Finished);
            await new ReadNumbers(db, clock).RunAsync(null, Range, default);
            var boxes = await new ReadLibraryNumbers(db, clock).RunAsync(Range, 100, default);
            await new ReadLibrariesBeside(db, clock, Options.Create(new ShelfSettings())).RunAsync(boxes, boxes.Range, default);
            await new ReadSeen(db).RunAsync(SightingKind.Answer, boxes.Range, int.MaxValue, default);
            await foreach (var _ in new ReadNumbersLines(db, clock).RunAsync(null, Range, default)) { }
            await new ReadVersionShares(db, clock).RunAsync(slug, Range, 4, default);
        }
        // Ten days up to the one before the first that was counted, and up to it.
        Task<DaysBeside?> BesideAsync(string from) => new ReadDaysBeside(db).RunAsync(from, new(new(2026, 11, 1), new(2026, 11, 10)), new(2026, 11, 25), default);
        Assert.Equal((new LocalDate(2026, 10, 31), false, true), (await BesideAsync("2026-10-21") is { } no && await BesideAsync("2026-10-22") is { } yes ? (no.Earliest, no.IsKnown, yes.IsKnown) : default));
        db.Sightings.Add(new Sighting { Day = new LocalDate(2026, 10, 30), Kind = SightingKind.Search, Word = "bowed saw", Times = 1 });
        await db.SaveChangesAsync();
        Assert.True((await BesideAsync("2026-10-21"))!.IsKnown);
        await new ReadNewestShares(db, clock).RunAsync(3, default);
        await new ReadMemberNumbers(db, clock).RunAsync(null, null, default);
        await new ReadDropUptakes(db, clock).RunAsync(null, null, default);
        Assert.True(listens.Asked.Count > 30);
        Assert.DoesNotContain(listens.Asked, Raw().IsMatch);
    }

    /// <summary>SQLite has no statistics of its tables here, as on a shelf: it looks at the question and the indexes alone, so a few rows tell what it does with millions.</summary>
    [Fact]
    [Trait("Database", "sqlite")]
    public async Task No_counting_goes_through_all_downloads()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var asked = (await CountAsync(shelf)).Where(a => a.TrimStart().StartsWith("SELECT", StringComparison.Ordinal) && Raw().IsMatch(a)).Distinct(StringComparer.Ordinal).ToList();
        Assert.True(asked.Count > 8);
        await using var db = shelf.Temp.Open();
        await db.Database.OpenConnectionAsync();
        foreach (var question in asked)
        {
            var plan = await PlanAsync(db, question);
            Assert.DoesNotContain(plan, line => ThroughAll().IsMatch(line));
            // All that are of no month, or of nobody, are nearly all.
            Assert.DoesNotContain(plan, line => line.Contains("PersonId>?", StringComparison.Ordinal));
        }
        // A month's people are found where the month lies in both tables, and by no id, which lie anywhere.
        var people = await PlanAsync(db, Assert.Single(asked, a => a.Contains("|| ''", StringComparison.Ordinal)));
        Assert.Equal(["IX_DownloadTallies_StartedAt", "IX_Downloads_StartedAt"], people.Select(line => line.Split(" USING INDEX ")[^1].Split(' ')[0]).Order(StringComparer.Ordinal));
        Assert.Equal(3, await db.Database.SqlQuery<int>($"""SELECT count(*) AS "Value" FROM sqlite_master WHERE tbl_name = 'Downloads' AND sql LIKE '%IS NOT NULL'""").SingleAsync());
    }

    /// <summary>The list of single downloads, who is told of a version, and who is left behind: of each, only some rows are looked at, whatever their number.</summary>
    [Fact]
    [Trait("Database", "sqlite")]
    public async Task Neither_the_list_of_downloads_nor_telling_people_nor_who_is_left_behind_goes_through_all_downloads()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await CountAsync(shelf);
        var slug = await shelf.WithAsync(db => db.Libraries.Select(l => l.Slug).SingleAsync());
        var listens = new Listens();
        await using (var db = shelf.Temp.Open(listens))
        {
            foreach (var from in new[] { null, new DownloadsFrom(shelf.Now.ToUnixTimeMilliseconds(), 1) })
                foreach (var (person, box) in new[] { ((long?)null, (string?)null), (null, slug), (5, null) })
                    await new ReadDownloads(db, shelf.Temp.Clock).RunAsync(person, box, from, default);
            await db.Users.Where(p => p.Id == 5).ExecuteUpdateAsync(s => s.SetProperty(p => p.Email, "wren@post.example"));
            await db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.TellAskedAt, shelf.Now));
            await new TellPeople(db, shelf.Temp.Clock).RunAsync(shelf.ReleaseId, null, default);
            await db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.State, ReleaseState.Withdrawn).SetProperty(r => r.TellAskedAt, shelf.Now));
            Assert.Equal(1, await new TellPeople(db, shelf.Temp.Clock).RunAsync(shelf.ReleaseId, null, default));
            // Of up to fifty people it is asked what each may have, which hangs on what they fetched.
            var before = listens.Asked.Count(Raw().IsMatch);
            db.Releases.Add(new Release { LibraryId = shelf.LibraryId, Number = "9.0.0", SealedAt = shelf.Now, PublishedAt = shelf.Now });
            await db.SaveChangesAsync();
            await db.Releases.ExecuteUpdateAsync(s => s.SetProperty(r => r.State, ReleaseState.Published));
            Assert.Equal(5, Assert.Single((await new ReadLeftBehind(db, shelf.Temp.Clock).RunAsync(slug, null, 1, default))!.People).PersonId);
            Assert.True(listens.Asked.Count(Raw().IsMatch) > before);
        }
        var asked = listens.Asked.Where(a => a.TrimStart().StartsWith("SELECT", StringComparison.Ordinal) && Raw().IsMatch(a)).Distinct(StringComparer.Ordinal).ToList();
        Assert.True(asked.Count > 8);
        await using var look = shelf.Temp.Open();
        await look.Database.OpenConnectionAsync();
        var ways = new List<string>();
        foreach (var question in asked)
        {
            var plan = await PlanAsync(look, question);
            // What is gone through may be what was found by an index.
            var wrong = plan.FindAll(line => (ThroughAll().IsMatch(line) && !plan.Contains(line.Replace("SCAN", "CO-ROUTINE", StringComparison.Ordinal)))
                || line.Contains("PersonId>?", StringComparison.Ordinal) || line.Contains("IX_Downloads_ReleaseId", StringComparison.Ordinal));
            Assert.True(wrong.Count == 0, $"{string.Join('\n', wrong)}\n{question}\n{string.Join('\n', plan)}");
            ways.AddRange(plan);
        }
        // The newest of a month, without a look at the others of it.
        Assert.Contains(ways, line => line.Contains("IX_Downloads_DropId_MadeAt (DropId=? AND MadeAt<?)", StringComparison.Ordinal));
    }

    /// <summary>EF Core calls these tables d, d0 and so on; an index is gone through to its first or last entry alone where it says SEARCH.</summary>
    [GeneratedRegex(@"^SCAN d\d*\b")]
    private static partial Regex ThroughAll();

    private static async Task<List<string>> PlanAsync(ShelfDb db, string question)
    {
        await using var command = db.Database.GetDbConnection().CreateCommand();
#pragma warning disable CA2100 // What the shelf itself asked.
        command.CommandText = "EXPLAIN QUERY PLAN " + question;
#pragma warning restore CA2100
        foreach (var name in Parameter().Matches(question).Select(m => m.Value).Distinct(StringComparer.Ordinal))
        {
            var parameter = command.CreateParameter();
            (parameter.ParameterName, parameter.Value) = (name, 1);
            command.Parameters.Add(parameter);
        }
        await using var reader = await command.ExecuteReaderAsync();
        var lines = new List<string>();
        while (await reader.ReadAsync())
            lines.Add(reader.GetString(3));
        return lines;
    }

    [GeneratedRegex(@"@\w+")]
    private static partial Regex Parameter();
}

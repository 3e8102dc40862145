using LibraryShelf.Web.Practice;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Setup;
using LibraryShelf.Web.Setup.Demo;
using LibraryShelf.Web.Setup.Demo.Loading;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace LibraryShelf.Web.Tests.Setup.Demo.Loading;

/// <summary>A part of the practice shop, filled once: the box with planted faults, the one with a leftover, the one that was free.</summary>
public sealed class FilledPracticeShop : IAsyncLifetime
{
    private static readonly string[] Part = ["sluice-gate-bass", "pantry-glasses", "flowerpot-bells"];
    private readonly string _root = Path.Combine(Path.GetTempPath(), "shelf-demo-" + Guid.NewGuid().ToString("N"));
    private ServiceProvider? _services;

    public string Root => _root;

    public DateTimeOffset Now { get; } = new(2026, 11, 25, 9, 0, 0, TimeSpan.Zero);

    public async Task InitializeAsync()
    {
        var clock = new SettableClock(Now);
        _services = DemoShop.Services([$"--Shelf:DataDirectory={_root}"], clock);
        await _services.PrepareDataAsync(CancellationToken.None);
        var whole = SeedReader.Read(SeedReader.DefaultFolder);
        var shop = whole with { Libraries = [.. whole.Libraries.Where(l => Part.Contains(l.Slug))] };
        await new SeedShelf(new Steps(_services), clock, _services.GetRequiredService<DataPaths>(), TextWriter.Null).RunAsync(shop, Now, CancellationToken.None);
    }

    public async Task<T> AskAsync<T>(Func<ShelfDb, Task<T>> question)
    {
        await using var scope = _services!.CreateAsyncScope();
        return await question(scope.ServiceProvider.GetRequiredService<ShelfDb>());
    }

    public async Task DisposeAsync()
    {
        await _services!.DisposeAsync();
        SqliteConnection.ClearAllPools();
        Directory.Delete(_root, recursive: true);
    }
}

public sealed class SeedShelfTests(FilledPracticeShop shop) : IClassFixture<FilledPracticeShop>
{
    /// <summary>Invented hosts alone (RFC 2606 keeps ".example" for such), of boxes that stood on the shelf that day, and months that are the sums of their days.</summary>
    [Fact]
    public async Task Where_people_came_from_is_invented_and_of_boxes_that_were_on_the_shelf()
    {
        var seen = await shop.AskAsync(db => db.Sightings.AsNoTracking().ToListAsync());
        var hosts = seen.FindAll(s => s.Kind == SightingKind.Referrer);
        Assert.Equal(["found-sounds.example", "harbour-radio.example", "shed-orchestra.example", "tin-and-reed.example"], hosts.Select(s => s.Word).Distinct().Order(StringComparer.Ordinal));
        Assert.Contains("bowed saw", seen.Where(s => s.Kind == SightingKind.Search).Select(s => s.Word));
        Assert.All(seen, s => Assert.True(s.Day < new LocalDate(2026, 11, 25)));
        // It came sixty days ago; and what is seen of a box is seen after its first version came out.
        Assert.True(hosts.Where(s => s.Word == "shed-orchestra.example").Min(s => s.Day) >= new LocalDate(2026, 9, 26));
        var firsts = await shop.AskAsync(async db => (await db.Releases.AsNoTracking().Where(r => r.PublishedAt != null).ToListAsync()).GroupBy(r => r.LibraryId).ToDictionary(g => g.Key, g => g.Min(r => r.PublishedAt!.Value)));
        var ofBoxes = hosts.FindAll(s => s.LibraryId != 0);
        Assert.NotEmpty(ofBoxes);
        Assert.All(ofBoxes, s => Assert.True(s.Day.ToDateOnly() >= DateOnly.FromDateTime(firsts[s.LibraryId].UtcDateTime)));
        var months = await shop.AskAsync(db => db.MonthSightings.AsNoTracking().ToListAsync());
        Assert.Equal(
            seen.GroupBy(s => $"{s.Day.ToYearMonth()} {s.Kind} {s.LibraryId} {s.Word}").Select(g => $"{g.Key} {g.Sum(s => s.Times)}").Order(StringComparer.Ordinal),
            months.Select(m => $"{m.Month} {m.Kind} {m.LibraryId} {m.Word} {m.Times}").Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task The_open_draft_shows_every_planted_fault()
    {
        var draft = await Release("sluice-gate-bass", "1.1.0");
        Assert.Equal(ReleaseState.Checked, draft.State);
        var found = await shop.AskAsync(db => db.SheetEntries.Where(e => e.ReleaseId == draft.Id).ToListAsync());
        Assert.Equal(
            ["Recordings/gate_Ab2_hard_2.wav"], Paths(found, FindingCodes.RecordingCutShort));
        Assert.Equal(["Recordings/gate_Gb2_soft_1.wav"], Paths(found, FindingCodes.RecordingSilent));
        Assert.Equal(
            ["Recordings/gate_Bb1_hard_1.wav", "Recordings/gate_Bb1_hard_2.wav"], Paths(found, FindingCodes.RecordingClippedHard));
        Assert.Contains("gate_Bb2_medium_1.wav", Assert.Single(found, e => e.Code == FindingCodes.MappingMissingFile).Message, StringComparison.Ordinal);
        Assert.Contains("GATE_D2_SOFT_2.WAV", Assert.Single(found, e => e.Code == FindingCodes.MappingOtherSpelling).Message, StringComparison.Ordinal);
        Assert.Contains("44100", Assert.Single(found, e => e.Code == FindingCodes.RatesDiffer).Message, StringComparison.Ordinal);
        Assert.Equal(["Sluice Gate Bass.pond"], Paths(found, FindingCodes.FileKept));
        Assert.Equal(6, found.Count(e => e.Severity == Severity.MustFix));
    }

    [Fact]
    public async Task Published_versions_are_clean_but_for_the_leftover_takes()
    {
        var found = await shop.AskAsync(db => db.SheetEntries
            .Where(e => db.Releases.Any(r => r.Id == e.ReleaseId && r.State == ReleaseState.Published) && e.Severity != Severity.Fine)
            .ToListAsync());
        Assert.Equal(["Recordings/glass_E6_2.wav", "Recordings/glass_G6_2.wav"], Paths(found, FindingCodes.RecordingUnused));
        Assert.Equal(2, found.Count);
    }

    [Fact]
    public async Task A_box_that_was_free_is_for_members_now()
    {
        var library = await shop.AskAsync(db => db.Libraries.Include(l => l.Audiences).SingleAsync(l => l.Slug == "flowerpot-bells"));
        Assert.Equal(Audience.Free, library.AudienceAt(shop.Now.AddDays(-125)));
        Assert.Equal(Audience.Members, library.AudienceAt(shop.Now));
        Assert.Equal(2, library.Audiences.Count);
    }

    [Fact]
    public async Task Where_the_licence_is_the_makers_own_she_says_in_short_what_it_comes_to()
    {
        var releases = await shop.AskAsync(db => db.Releases.ToListAsync());
        Assert.Contains(releases, r => r.LicenceSpdx is null);
        Assert.All(releases, r => Assert.Equal((r.Number, r.LicenceSpdx is null), (r.Number, r.LicenceInShort.Contains("without asking", StringComparison.Ordinal))));
        Assert.Contains("pass the recordings on", await shop.AskAsync(db => db.Shops.Select(s => s.LicenceInShort).SingleAsync()), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Everything_is_dated_back_and_nothing_lies_ahead()
    {
        var releases = await shop.AskAsync(db => db.Releases.Where(r => r.SealedAt != null).ToListAsync());
        Assert.Equal(6, releases.Count);
        Assert.All(releases, r =>
            Assert.True(r.CreatedAt < r.SealedAt && r.SealedAt <= r.PublishedAt && r.PublishedAt < shop.Now, r.Number));
        Assert.True(await shop.AskAsync(db => db.Downloads.AllAsync(d => d.MadeAt <= shop.Now)));
        Assert.True(await shop.AskAsync(db => db.Archives.AllAsync(a => a.Sha256 != null)));
    }

    [Fact]
    public async Task The_past_of_downloads_is_counted_with_some_unfinished()
    {
        var (started, finished) = await shop.AskAsync(async db => (
            await db.Downloads.CountAsync(d => d.StartedAt != null), await db.DownloadTallies.CountAsync(t => t.FinishedAt != null)));
        Assert.InRange(finished, started * 0.7, started - 1);
        Assert.InRange(started, 60, 600);
    }

    [Fact]
    public async Task A_year_of_people_who_pay_stands_in_its_rows_as_in_the_stand_ins_ledger()
    {
        var numbers = await shop.AskAsync(db => new ReadMemberNumbers(db, new SettableClock(shop.Now)).RunAsync(null, null, default));
        Assert.InRange(numbers.Paying, 40, 90);
        Assert.Equal(12, numbers.Months.Count(m => m.Joined > 2));
        Assert.True(numbers.Months.Sum(m => m.Returned) > 0 && numbers.Months.Sum(m => m.Left) > 5 && numbers.Months.Sum(m => m.Failed) > numbers.Months.Sum(m => m.Recovered));
        // What goes on in the ledger is what brings in money.
        var ledger = new LedgerFile(Path.Combine(shop.Root, "practice.json")).Read();
        Assert.Equal(ledger.Subscriptions.Count(s => s.Status != PracticeStatus.Canceled && !s.CancelsAtPeriodEnd), numbers.Income.Single().Memberships);
        Assert.Equal(ledger.Invoices.Count(i => i.Status == PracticeStatus.Paid), await shop.AskAsync(db => db.Payments.CountAsync()));
        Assert.Empty(ledger.Messages);
        Assert.True(await shop.AskAsync(db => db.DropUptakes.AllAsync(u => u.ByNow > 5 && u.ByNow < u.Holders)));
        Assert.True(numbers.Free.Sum(f => f.Joined[2]) > 5, $"{numbers.Free.Sum(f => f.Joined[2])} joined after a free download");
    }

    [Fact]
    public async Task The_shop_says_that_it_is_invented() => Assert.True(await shop.AskAsync(db => db.Shops.AllAsync(s => s.IsDemo)));

    private Task<Release> Release(string slug, string number) =>
        shop.AskAsync(db => db.Releases.SingleAsync(r => r.Library.Slug == slug && r.Number == number));

    private static IEnumerable<string?> Paths(IEnumerable<SheetEntry> found, string code) =>
        found.Where(e => e.Code == code).Select(e => e.Path).Order(StringComparer.Ordinal);
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Downloads;

/// <summary>A month of two libraries as one archive: who gets it, what stops it, and as what it counts.</summary>
public sealed class MonthArchiveTests : IAsyncLifetime
{
    private static readonly YearMonth December = new(2026, 12);
    private OutBench bench = null!;
    private long kettle, marimba, wren;

    private TimeProvider Clock => bench.Bench.Shelf.Clock;

    public async Task InitializeAsync()
    {
        bench = await OutBench.MakeAsync();
        kettle = await bench.SealedAsync("1.0.0");
        await bench.WithAsync(db =>
        {
            db.Libraries.Add(new Library { Slug = "marimba", Title = "Jam-jar Marimba", CreatedAt = Clock.GetUtcNow(), DeclaredAt = Clock.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        bench.Bench.Slug = "marimba";
        marimba = await bench.SealedAsync("2.0.0");
        wren = await bench.PersonAsync("wren@post.example");
        await bench.WithAsync(db =>
        {
            db.MembershipGrants.Add(new MembershipGrant { PersonId = wren, From = Clock.GetUtcNow() });
            db.Drops.Add(new Drop { Id = 7, Month = December, Title = "Salt and reeds", DueAt = Clock.GetUtcNow() });
            db.DropReleases.AddRange(new DropRelease { DropId = 7, ReleaseId = kettle }, new DropRelease { DropId = 7, ReleaseId = marimba, Place = 1 });
            return db.SaveChangesAsync();
        });
    }

    public async Task DisposeAsync() => await bench.DisposeAsync();

    [Fact]
    public async Task Who_may_have_every_version_gets_one_link_to_the_same_bytes_always()
    {
        Assert.Equal(FindDropArchive.NotOut, await RefusedAsync(wren));
        await SendAsync();
        Assert.Contains("Sign in first", await RefusedAsync(null), StringComparison.Ordinal);
        Assert.Contains("Mended Kettle 1.0.0 is not among what is yours", await RefusedAsync(await bench.PersonAsync("robin@post.example")), StringComparison.Ordinal);
        Assert.Equal(0, await bench.WithAsync(db => db.Downloads.CountAsync()));

        var made = await MadeAsync(wren);
        var open = Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync(made.Path));
        Assert.Equal((ArchiveKind.Drop, 7L, "Salt and reeds 2026-12.zip"), (open.Archive.Kind, open.Archive.DropId, open.Archive.FileName));
        Assert.Equal((open.Archive.Length, 7L, wren, MayDownloadWhy.Member), (open.Layout.Length, open.Download.DropId, open.Download.PersonId, open.Download.Why));
        Assert.IsType<DigestArchiveOutcome.Digested>(await bench.WithAsync(db => new DigestArchive(db, bench.Bench.Store, TimeProvider.System).RunAsync(open.Archive.Id, default)));

        // Made anew it is the same.
        await bench.WithAsync(db => db.Archives.Where(a => a.Kind == ArchiveKind.Drop).ExecuteDeleteAsync());
        var again = Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync((await MadeAsync(wren)).Path));
        Assert.Equal(open.Archive.RecipeSha256, again.Archive.RecipeSha256);
        Assert.Equal(again.Archive.Id, Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync((await MadeAsync(wren)).Path)).Archive.Id);
    }

    [Fact]
    public async Task A_withdrawal_of_any_version_stops_it_and_says_which()
    {
        await SendAsync();
        var (made, hers) = (await MadeAsync(wren), await MadeAsync(await MakerAsync()));
        var download = Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync(made.Path)).Download;
        Assert.Single(await LinksAsync());
        await bench.WithdrawSilentlyAsync(marimba, "It rattles.");
        Assert.Equal(LinkTrouble.Withdrawn, Assert.IsType<OpenLinkOutcome.Refused>(await OpenAsync(made.Path)).Trouble);
        Assert.Equal(LinkTrouble.Withdrawn, await bench.WithAsync(db => new StartDownload(db, Clock).RunAsync(download, default)));
        Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync(hers.Path));
        Assert.Empty(await LinksAsync());
        Assert.Contains("Jam-jar Marimba 2.0.0 of this month was withdrawn", await RefusedAsync(wren), StringComparison.Ordinal);
        var about = await bench.WithAsync(db => new ReadLinkAbout(db).RunAsync(made.DownloadId, default));
        Assert.Equal(("December 2026", "Jam-jar Marimba", "2.0.0", "It rattles."), (about!.Month, about.Title, about.Number, about.WithdrawnBecause));
    }

    [Fact]
    public async Task It_counts_as_a_month_and_no_versions_download_yet_each_version_is_known_to_be_theirs()
    {
        await SendAsync();
        var made = await MadeAsync(wren);
        var open = Assert.IsType<OpenLinkOutcome.Open>(await OpenAsync(made.Path));
        Assert.Null(await bench.WithAsync(db => new StartDownload(db, Clock).RunAsync(open.Download, default)));
        await bench.WithAsync(db =>
        {
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = made.DownloadId, From = 0, To = open.Archive.Length, At = Clock.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        await bench.WithAsync(db => new CountDownloads(db).RunAsync(default));
        await bench.WithAsync(db => new RollUpDays(db, Clock).RunAsync(default));

        var line = Assert.Single(await NumbersAsync(null));
        Assert.Equal(("", NumbersLine.WholeMonths, "2026-12", 1, 1), (line.Slug, line.Title, line.Number, line.Started, line.Finished));
        Assert.Empty(await NumbersAsync("kettle"));
        var listed = Assert.Single((await bench.WithAsync(db => new ReadDownloads(db, Clock).RunAsync(null, "marimba", from: null, default)))!.Lines);
        Assert.Equal(("The whole month, December 2026", ""), (listed.Title, listed.Number));
        Assert.Equal("The whole month, December 2026", Assert.Single(await LinksAsync()).Title);
        var mine = await bench.WithAsync(db => new ReadMine(db, Clock).RunAsync(wren, default));
        Assert.All(mine.Libraries.SelectMany(l => l.Releases), r => Assert.NotNull(r.TakenAt));

        // What they have is what an update is offered from, and what they are told of when it is withdrawn.
        var next = await bench.SealedAsync("2.1.0");
        await bench.WithAsync(db => new WeighUpdates(db, bench.Bench.Store).RunAsync(next, default));
        await bench.PublishAsync(next, Audience.Members);
        var told = Assert.Single(await bench.MailsAsync("version:"));
        Assert.Equal($"version:{next}:{wren}", told.Cause);
        Assert.Contains("The last you fetched is 2.0.0.", Assert.IsType<LetterOutcome.Written>(
            await bench.WithAsync(db => new WriteLetter(db, Clock, Options.Create(new ShelfSettings())).RunAsync(told, default))).Text, StringComparison.Ordinal);
        Assert.Equal((marimba, true), (await bench.WithAsync(db => new ReadUpdateOffers(db).RunAsync([next], wren, default))).ByRelease[next] is var offer ? (offer.FromReleaseId, offer.IsYours) : default);
        await bench.WithdrawAsync(marimba);
        Assert.Equal("wren@post.example", Assert.Single(await bench.MailsAsync("withdrawn")).To);
    }

    private async Task SendAsync() => Assert.IsType<SendDropOutcome.Sent>(
        await bench.WithAsync(db => new SendDrop(db, Clock, Options.Create(new ShelfSettings())).RunAsync(7, null, default)));

    private Task<MakeDropLinkOutcome> LinkAsync(long? person) => bench.WithAsync(db => new MakeDropLink(
        db, new ReadRights(db, Clock), new FindDropArchive(db, bench.Bench.Store, Clock), Clock, Options.Create(new ShelfSettings())).RunAsync(December, person, default));

    private async Task<MakeLinkOutcome.Made> MadeAsync(long person) => Assert.IsType<MakeDropLinkOutcome.Made>(await LinkAsync(person)).Link;

    private async Task<string> RefusedAsync(long? person) => Assert.IsType<MakeDropLinkOutcome.Refused>(await LinkAsync(person)).Words;

    private async Task<OpenLinkOutcome> OpenAsync(string path)
    {
        using var layouts = new ArchiveLayouts(bench.Bench.Store);
        return await bench.WithAsync(db => new OpenLink(db, layouts, new LinkUses(Options.Create(new ShelfSettings())), Clock).RunAsync(path, default));
    }

    private Task<IReadOnlyList<MyLink>> LinksAsync() => bench.WithAsync(
        db => new ReadMyLinks(db, new LinkUses(Options.Create(new ShelfSettings())), Clock).RunAsync(wren, default));

    private Task<List<NumbersLine>> NumbersAsync(string? slug) =>
        bench.WithAsync(db => new ReadNumbersLines(db, Clock).RunAsync(slug, today => DayRange.Read(null, null, today, 7), default).ToListAsync().AsTask());

    private async Task<long> MakerAsync()
    {
        var id = await bench.PersonAsync("maker@saltmarsh.example");
        await bench.WithAsync(db => db.Users.Where(p => p.Id == id).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        return id;
    }
}

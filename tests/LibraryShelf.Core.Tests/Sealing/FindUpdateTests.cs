using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Publishing;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class FindUpdateTests
{
    private static FindUpdate Verb(OutBench bench, ShelfDb db) => new(db, bench.Bench.Store, bench.Bench.Shelf.Clock);

    private static Task<FindUpdateOutcome> FindAsync(OutBench bench, long to, long from) => bench.WithAsync(db => Verb(bench, db).RunAsync(to, from, default));

    private static Task<MakeLinkOutcome> LinkAsync(OutBench bench, long to, long from, long? person = null) => bench.WithAsync(db => new MakeLink(
        db, new ReadRights(db, bench.Bench.Shelf.Clock), Verb(bench, db), bench.Bench.Shelf.Clock, Options.Create(new ShelfSettings())).RunAsync(to, person, from, default));

    private static Task<UpdateOffers> OffersAsync(OutBench bench, long to, long? person) => bench.WithAsync(async db =>
        await new WeighUpdates(db, bench.Bench.Store).RunAsync(to, default) >= 0 ? await new ReadUpdateOffers(db).RunAsync([to], person, default) : UpdateOffers.None);

    [Fact]
    public async Task It_is_made_once_with_its_exact_length_also_by_many_at_once()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        var found = await Task.WhenAll(Enumerable.Range(0, 4).Select(_ => FindAsync(bench, two, one)));
        var archive = Assert.Single(found.Select(f => Assert.IsType<FindUpdateOutcome.Found>(f).Archive).DistinctBy(a => a.Id));
        Assert.Equal((ArchiveKind.Update, one, "Mended Kettle 1.0.0 to 1.1.0.zip"), (archive.Kind, archive.FromReleaseId, archive.FileName));
        using var layouts = new ArchiveLayouts(bench.Bench.Store);
        var layout = await layouts.FindAsync(archive.RecipeSha256, default);
        Assert.Equal(layout!.Length, archive.Length);
        Assert.Contains("a.wav", layout.Recipe.Entries.Select(e => e.Path));
        Assert.IsType<DigestArchiveOutcome.Digested>(await bench.WithAsync(db => new DigestArchive(db, bench.Bench.Store, TimeProvider.System).RunAsync(archive.Id, default)));
    }

    [Fact]
    public async Task Only_from_a_lower_number_of_the_same_library()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        Assert.IsType<FindUpdateOutcome.None>(await FindAsync(bench, one, two));
        Assert.IsType<FindUpdateOutcome.None>(await FindAsync(bench, two, two));
        Assert.IsType<FindUpdateOutcome.None>(await FindAsync(bench, two, 4711));
    }

    [Fact]
    public async Task A_withdrawn_version_can_be_updated_from_and_not_to()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        await bench.WithdrawAsync(one);
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, two, one));
        await bench.WithdrawAsync(two);
        Assert.IsType<MakeLinkOutcome.Refused>(await LinkAsync(bench, two, one));
    }

    [Fact]
    public async Task The_right_is_that_to_the_version_and_one_that_was_never_out_gives_nothing_away()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, hidden) = (await bench.PublishedAsync("1.0.0", Audience.Members), await bench.SealedAsync("1.0.1"));
        var two = await bench.PublishedAsync("1.1.0", Audience.Members);
        Assert.IsType<MakeLinkOutcome.Refused>(await LinkAsync(bench, two, one));
        await bench.PublishedAsync("1.2.0", Audience.Free);
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, two, one));
        Assert.IsType<MakeLinkOutcome.NoUpdate>(await LinkAsync(bench, two, hidden));
        Assert.DoesNotContain(hidden, (await OffersAsync(bench, two, null)).Earlier[two].Select(e => e.Id));
    }

    [Fact]
    public async Task The_offer_is_from_the_version_finished_last_else_from_the_version_before()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two, three) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.9.0"), await bench.PublishedAsync("1.10.0"));
        var person = await bench.PersonAsync("wren@example.org");
        var begun = await bench.FetchAsync(one, person);
        Assert.Equal((two, false), await OfAsync(person)); // begun is not finished
        await FinishAsync(begun.DownloadId);
        Assert.Equal((one, true), await OfAsync(person));
        Assert.Equal((two, false), await OfAsync(null));
        await FinishAsync((await bench.FetchAsync(two, person)).DownloadId);
        Assert.Equal((two, true), await OfAsync(person));
        // Back to the old one: that is the version they have, though its number is lower.
        await FinishAsync((await bench.FetchAsync(one, person)).DownloadId);
        Assert.Equal((one, true), await OfAsync(person));
        // With the newest itself finished last they are offered what anybody is; with an old one after that, from there.
        await FinishAsync((await bench.FetchAsync(three, person)).DownloadId);
        Assert.Equal((two, false), await OfAsync(person));
        await FinishAsync((await bench.FetchAsync(two, person)).DownloadId);
        Assert.Equal((two, true), await OfAsync(person));
        Assert.Equal([two, one], (await OffersAsync(bench, three, person)).Earlier[three].Select(e => e.Id));

        async Task<(long, bool)> OfAsync(long? who)
        {
            var offer = (await OffersAsync(bench, three, who)).ByRelease[three];
            return (offer.FromReleaseId, offer.IsYours);
        }

        Task FinishAsync(string download)
        {
            bench.Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
            return bench.WithAsync(db =>
            {
                db.DownloadTallies.Add(new DownloadTally { DownloadId = download, FinishedAt = bench.Bench.Shelf.Clock.GetUtcNow() });
                return db.SaveChangesAsync();
            });
        }
    }

    [Fact]
    public async Task Looking_at_offers_writes_nothing_and_each_pair_is_worked_out_once()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        Assert.Equal([two], await bench.WithAsync(db => new FindUnweighed(db).RunAsync(default)));
        Assert.Empty((await bench.WithAsync(db => new ReadUpdateOffers(db).RunAsync([two], null, default))).ByRelease);
        Assert.Equal(1, await bench.WithAsync(db => new WeighUpdates(db, bench.Bench.Store).RunAsync(one, default)));
        Assert.Equal(0, await bench.WithAsync(db => new WeighUpdates(db, bench.Bench.Store).RunAsync(two, default)));
        Assert.Empty(await bench.WithAsync(db => new FindUnweighed(db).RunAsync(default)));
        var offer = (await OffersAsync(bench, two, null)).ByRelease[two];
        Assert.Equal(0, await bench.WithAsync(db => db.Archives.CountAsync(a => a.Kind == ArchiveKind.Update)));
        var archive = Assert.IsType<FindUpdateOutcome.Found>(await FindAsync(bench, two, one)).Archive;
        Assert.Equal(archive.Length, offer.Bytes);
    }

    [Fact]
    public async Task One_that_saves_nothing_is_not_offered()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        Assert.Single((await OffersAsync(bench, two, null)).Earlier[two]);
        // As if everything had been renamed: the update carries it all, and its note.
        await bench.WithAsync(async db => await db.PossibleUpdates.ExecuteUpdateAsync(
            s => s.SetProperty(u => u.Bytes, db.Archives.Where(a => a.ReleaseId == two && a.Kind == ArchiveKind.Full).Select(a => a.Length).First())));
        var offers = await OffersAsync(bench, two, null);
        Assert.Empty(offers.ByRelease);
        Assert.Empty(offers.Earlier[two]);
        Assert.IsType<FindUpdateOutcome.Found>(await FindAsync(bench, two, one));
    }

    /// <summary>A version sealed later with a number in between (1.0.1 after 1.1.0) has its pairs both ways.</summary>
    [Fact]
    public async Task A_number_in_between_is_worked_out_with_those_above_and_below()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"));
        await OffersAsync(bench, two, null);
        var between = await bench.PublishedAsync("1.0.1");
        Assert.Equal(between, (await OffersAsync(bench, two, null)).ByRelease[two].FromReleaseId);
        Assert.Equal(one, (await OffersAsync(bench, between, null)).ByRelease[between].FromReleaseId);
    }

    [Fact]
    public async Task What_nobody_fetched_goes_after_a_month_and_is_made_again_when_asked_for()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two, three) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.1.0"), await bench.PublishedAsync("1.2.0"));
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, two, one));
        var fetched = Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, three, one));
        Assert.Null(await bench.WithAsync(db => new StartDownload(db, bench.Bench.Shelf.Clock).RunAsync(new() { Id = fetched.DownloadId }, default)));
        Assert.Equal(0, await DropAsync());
        bench.Bench.Shelf.Clock.Advance(DropUnusedUpdates.KeptFor);
        // Asked for again at this moment: its link must not lead nowhere.
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, two, one));
        bench.Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(0, await DropAsync());
        bench.Bench.Shelf.Clock.Advance(DropUnusedUpdates.KeptFor);
        Assert.Equal(1, await DropAsync());
        Assert.Equal([three], await bench.WithAsync(db => db.Archives.Where(a => a.Kind == ArchiveKind.Update).Select(a => a.ReleaseId).ToListAsync()));
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, two, one));
        Assert.Equal([one, one, one, one], await bench.WithAsync(db => db.Downloads.Select(d => d.FromReleaseId!.Value).ToListAsync()));

        Task<int> DropAsync() => bench.WithAsync(db => new DropUnusedUpdates(db, bench.Bench.Shelf.Clock).RunAsync(default));
    }

    [Fact]
    public async Task An_early_version_is_offered_an_update_to_and_from()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, early) = (await bench.PublishedAsync("1.0.0"), await bench.SealedAsync("1.1.0"));
        Assert.IsType<ReleaseEarlyOutcome.Opened>(await bench.EarlyAsync(early, "wren@example.org", declares: true));
        var person = await bench.PersonAsync("wren@example.org");
        Assert.Equal(one, (await OffersAsync(bench, early, person)).ByRelease[early].FromReleaseId);
        Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(bench, early, one, person));
    }
}

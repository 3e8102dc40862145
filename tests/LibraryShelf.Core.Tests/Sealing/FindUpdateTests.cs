using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
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
        await new ReadUpdateOffers(db, Verb(bench, db)).RunAsync((await db.Libraries.SingleAsync()).Id, [to], person, default));

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
        Assert.IsType<DigestArchiveOutcome.Digested>(await bench.WithAsync(db => new DigestArchive(db, bench.Bench.Store).RunAsync(archive.Id, default)));
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
    public async Task The_offer_is_from_the_newest_that_was_finished_else_from_the_version_before()
    {
        await using var bench = await OutBench.MakeAsync();
        var (one, two, three) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.9.0"), await bench.PublishedAsync("1.10.0"));
        var person = await bench.PersonAsync("wren@example.org");
        var fetched = await bench.FetchAsync(one, person);
        Assert.Equal((two, false), Of(await OffersAsync(bench, three, person))); // begun is not finished
        await bench.WithAsync(db =>
        {
            db.DownloadTallies.Add(new DownloadTally { DownloadId = fetched.DownloadId, FinishedAt = bench.Bench.Shelf.Clock.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        Assert.Equal((one, true), Of(await OffersAsync(bench, three, person)));
        Assert.Equal((two, false), Of(await OffersAsync(bench, three, null)));
        Assert.Equal([two, one], (await OffersAsync(bench, three, person)).Earlier[three].Select(e => e.Id));

        (long, bool) Of(UpdateOffers offers) => (offers.ByRelease[three].FromReleaseId, offers.ByRelease[three].IsYours);
    }
}

using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Intake;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Sealing.Listening;

public sealed class MakeListeningTests
{
    [Fact]
    public async Task A_version_published_before_there_was_anything_to_hear_gets_it_once_and_the_same_files_each_time()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.OnShelfAsync("1.0.0");
        Assert.Equal([id], (await bench.UnheardAsync()).Releases);
        Assert.Equal(5, Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id)).Files);
        Assert.False((await bench.UnheardAsync()).IsAny);
        Assert.IsType<MakeListeningOutcome.NothingToDo>(await bench.MakeAsync(id));
        var files = await FilesAsync(bench);
        Assert.Equal(["excerpt-1.opus", "excerpt-1.wav", ListeningSet.OpusName, ListeningSet.WavName, ListeningSet.ManifestName], files.Keys.Order(StringComparer.Ordinal));
        Assert.All(files.Values, sha256 => Assert.True(bench.Store.Has(sha256)));

        // A later program's generation is made anew; the same recordings give the same bytes.
        await using (var db = bench.Shelf.Open())
            await db.Listenings.ExecuteUpdateAsync(l => l.SetProperty(x => x.Generation, ListeningSet.Generation - 1));
        Assert.Equal([id], (await bench.UnheardAsync()).Releases);
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id));
        Assert.Equal(files, await FilesAsync(bench));
    }

    [Fact]
    public async Task Of_a_library_the_highest_number_on_the_shelf_alone_has_a_set_which_takes_the_place_of_the_one_before()
    {
        await using var bench = await SealBench.MakeAsync();
        var old = await bench.OnShelfAsync("1.9.0");
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(old));
        var next = await bench.SealedAsync("1.10.0", hz: 330);
        Assert.False((await bench.UnheardAsync()).IsAny);
        Assert.IsType<MakeListeningOutcome.NothingToDo>(await bench.MakeAsync(next));

        await bench.ChangeAsync(next, r => r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()));
        Assert.Equal([next], (await bench.UnheardAsync()).Releases);
        Assert.Equal(old, await HeardAsync());
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(next));
        Assert.Equal(next, await HeardAsync());

        // What came back to the top is made again.
        await bench.ChangeAsync(next, r => r.MoveTo(ReleaseState.Withdrawn, bench.Shelf.Clock.GetUtcNow()));
        Assert.Equal([old], (await bench.UnheardAsync()).Releases);

        async Task<long> HeardAsync()
        {
            await using var db = bench.Shelf.Open();
            Assert.Equal(5, await db.ListeningFiles.CountAsync());
            return await db.Listenings.Select(l => l.ReleaseId).SingleAsync();
        }
    }

    [Fact]
    public async Task A_version_without_an_archive_is_not_what_the_page_plays()
    {
        await using var bench = await SealBench.MakeAsync();
        var old = await bench.OnShelfAsync("1.0.0");
        var next = await bench.OnShelfAsync("1.1.0", hz: 330);
        await using (var db = bench.Shelf.Open())
            await db.Archives.Where(a => a.ReleaseId == next).ExecuteDeleteAsync();
        Assert.Equal([old], (await bench.UnheardAsync()).Releases);
    }

    [Fact]
    public async Task When_a_library_turns_out_to_be_a_kit_it_is_made_anew_and_heard_as_it_was_till_then()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.OnShelfAsync("1.0.0");
        await bench.MakeAsync(id);
        var files = await FilesAsync(bench);
        await EditAsync(new LibraryWords("Mended Kettle", Sentence: "Struck."));
        Assert.False((await bench.UnheardAsync()).IsAny);
        await EditAsync(new LibraryWords("Mended Kettle", IsPitched: false));
        Assert.Equal([id], (await bench.UnheardAsync()).Releases);
        Assert.Equal(files, await FilesAsync(bench));
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id));
        Assert.NotEqual(files, await FilesAsync(bench));
        Assert.False((await bench.UnheardAsync()).IsAny);

        async Task EditAsync(LibraryWords words)
        {
            await using var db = bench.Shelf.Open();
            Assert.IsType<EditOutcome.Saved>(await new EditLibrary(db, bench.Shelf.Clock).RunAsync("kettle", words, CancellationToken.None));
        }
    }

    [Fact]
    public async Task What_can_be_heard_is_not_collected()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.OnShelfAsync("1.0.0");
        await bench.MakeAsync(id);
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(30));
        await using (var db = bench.Shelf.Open())
            await new CollectBlobs(db, bench.Store, new IntakeBench.SetRoom(() => null), bench.Shelf.Paths, Options.Create(new ShelfSettings()), bench.Shelf.Clock).RunAsync(CancellationToken.None);
        Assert.All((await FilesAsync(bench)).Values, sha256 => Assert.True(bench.Store.Has(sha256)));
    }

    [Fact]
    public async Task A_stored_file_that_is_gone_is_told_and_tried_again_a_day_later_and_what_could_be_heard_stays()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.OnShelfAsync("1.0.0");
        await bench.MakeAsync(id);
        var files = await FilesAsync(bench);
        string recording;
        await using (var db = bench.Shelf.Open())
        {
            recording = await db.ReleaseFiles.Where(f => f.Path == "a.wav").Select(f => f.Sha256).SingleAsync();
            await db.Listenings.ExecuteUpdateAsync(l => l.SetProperty(x => x.Generation, ListeningSet.Generation - 1));
        }
        var path = bench.Store.LocalPath(recording)!;
        File.Move(path, path + ".away");
        var stopped = Assert.IsType<MakeListeningOutcome.Stopped>(await bench.MakeAsync(id));
        Assert.Contains("Mended Kettle 1.0.0", stopped.Reason, StringComparison.Ordinal);
        Assert.Equal(files, await FilesAsync(bench));
        Assert.False((await bench.UnheardAsync()).IsAny);
        Assert.IsType<MakeListeningOutcome.NothingToDo>(await bench.MakeAsync(id));
        Assert.Equal([stopped.Reason], await TroublesAsync());

        File.Move(path + ".away", path);
        bench.Shelf.Clock.Advance(TimeSpan.FromHours(25));
        Assert.Equal([id], (await bench.UnheardAsync()).Releases);
        Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id));
        Assert.Equal(files, await FilesAsync(bench));
        Assert.Empty(await TroublesAsync());

        async Task<IReadOnlyList<string>> TroublesAsync()
        {
            await using var db = bench.Shelf.Open();
            return await new ListListenTroubles(db).RunAsync(CancellationToken.None);
        }
    }

    [Fact]
    public async Task Of_what_has_no_mapping_and_no_notes_nothing_is_heard_and_it_is_not_tried_again()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("Rustle.wav", "no sound"));
        await bench.SealedAsync(id);
        await bench.ChangeAsync(id, r => r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()));
        Assert.Equal(Unplayed.BeingMade, await WhyAsync());
        await bench.ChangeAsync(id, r => r.ListenHeldAt = bench.Shelf.Clock.GetUtcNow());
        Assert.Equal(Unplayed.Held, await WhyAsync());
        await bench.ChangeAsync(id, r => r.ListenHeldAt = null);
        Assert.Equal(0, Assert.IsType<MakeListeningOutcome.Made>(await bench.MakeAsync(id)).Files);
        Assert.False((await bench.UnheardAsync()).IsAny);
        Assert.Equal(Unplayed.NothingToPlay, await WhyAsync());

        async Task<Unplayed?> WhyAsync()
        {
            await using var db = bench.Shelf.Open();
            return (await new ReadListening(db).RunAsync(id, (await bench.ReleaseAsync(id)).LibraryId, CancellationToken.None)).Why;
        }
    }

    private static async Task<Dictionary<string, string>> FilesAsync(SealBench bench)
    {
        await using var db = bench.Shelf.Open();
        return await db.ListeningFiles.OrderBy(f => f.Name).ToDictionaryAsync(f => f.Name, f => f.Sha256);
    }
}

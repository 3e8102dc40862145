using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Tests.Checking;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing.Listening;

public sealed class MusicTests
{
    [Fact]
    public async Task A_piece_is_kept_made_given_other_words_replaced_and_taken_off()
    {
        await using var bench = await SealBench.MakeAsync();
        var release = await bench.SealedAsync("1.0.0");
        Assert.True(Assert.IsType<KeepMusicOutcome.Kept>(await KeepAsync(bench, " Low  water ", "Played by Edda Quill.", HeardBench.Struck(220, 2))).IsNew);
        Assert.Equal((await bench.ReleaseAsync(release)).LibraryId, Assert.Single((await bench.UnheardAsync()).Libraries));
        Assert.Null(await HeardAsync(bench, release));
        Assert.IsType<MakeMusicOutcome.Made>(await MakeAsync(bench));
        Assert.IsType<MakeMusicOutcome.NothingToDo>(await MakeAsync(bench));
        Assert.Empty((await bench.UnheardAsync()).Libraries);
        var made = (await HeardAsync(bench, release))!.Music!;
        Assert.Equal(("Low water", "Played by Edda Quill."), (made.Title, made.Credit));
        Assert.Equal(2, made.Seconds, 0.001);
        Assert.InRange(made.TruePeakDbtp!.Value, -40, -1);

        Assert.False(Assert.IsType<KeepMusicOutcome.Kept>(await KeepAsync(bench, "High water", "", null)).IsNew);
        Assert.Equal(("High water", made.OpusSha256), ((await HeardAsync(bench, release))!.Music!.Title, (await HeardAsync(bench, release))!.Music!.OpusSha256));

        // Nobody hears it before the library is on the shelf.
        Assert.Null(await OpenAsync(bench));
        await bench.ChangeAsync(release, r => r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()));
        Assert.Equal(made.OpusSha256, await OpenAsync(bench));

        await KeepAsync(bench, "Ebb", "", HeardBench.Struck(330, 2));
        Assert.Null(await OpenAsync(bench));
        Assert.IsType<MakeMusicOutcome.Made>(await MakeAsync(bench));
        Assert.NotEqual(made.OpusSha256, await OpenAsync(bench));
        await using (var db = bench.Shelf.Open())
            Assert.True(await new RemoveMusic(db).RunAsync("kettle", CancellationToken.None));
        Assert.Null(await OpenAsync(bench));
    }

    [Fact]
    public async Task What_is_no_piece_of_music_is_refused_and_changes_nothing()
    {
        await using var bench = await SealBench.MakeAsync();
        Assert.IsType<KeepMusicOutcome.Missing>(await KeepAsync(bench, "x", "", HeardBench.Struck(220), slug: "none"));
        await RefusedAsync("Recording", "Low water", null);
        await RefusedAsync("Title", " ", HeardBench.Struck(220));
        await RefusedAsync("Title", new string('x', KeepMusic.MaxTitle + 1), HeardBench.Struck(220));
        await RefusedAsync("Recording", "Low water", "no recording at all"u8.ToArray());
        await RefusedAsync("Recording", "Low water", []);
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(220)[..200]);
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(0));
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(220, 301));
        await using var db = bench.Shelf.Open();
        Assert.False(await db.LibraryMusic.AnyAsync());

        async Task RefusedAsync(string field, string title, byte[]? recording) =>
            Assert.Equal(field, Assert.Single(Assert.IsType<KeepMusicOutcome.Refused>(await KeepAsync(bench, title, "", recording)).Refusals).Field);
    }

    [Fact]
    public async Task A_recording_that_is_gone_is_said_and_not_tried_again()
    {
        await using var bench = await SealBench.MakeAsync();
        await KeepAsync(bench, "Low water", "", HeardBench.Struck(220, 2));
        await using var db = bench.Shelf.Open();
        File.Delete(bench.Store.LocalPath(await db.LibraryMusic.Select(m => m.SourceSha256).SingleAsync())!);
        Assert.IsType<MakeMusicOutcome.Refused>(await MakeAsync(bench));
        Assert.Empty((await bench.UnheardAsync()).Libraries);
        // Told for as long as it stands, not by the run alone that found it.
        Assert.Equal(await db.LibraryMusic.Select(m => m.Trouble!).ToListAsync(), await new ListListenTroubles(db).RunAsync(CancellationToken.None));
        Assert.Contains("Send it again", await db.LibraryMusic.Select(m => m.Trouble).SingleAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whatever_goes_wrong_in_the_making_is_said_of_the_piece_and_stops_nothing_else()
    {
        await using var bench = await SealBench.MakeAsync();
        await KeepAsync(bench, "Low water", "", HeardBench.Struck(220, 2));
        var refused = Assert.IsType<MakeMusicOutcome.Refused>(await MakeAsync(bench, new WatchedStore(bench.Store) { Opening = _ => throw new InvalidOperationException() }));
        Assert.IsType<InvalidOperationException>(refused.Fault);
        Assert.StartsWith("The piece of music “Low water” holds something that the shelf did not expect", refused.Reason, StringComparison.Ordinal);
        await using var db = bench.Shelf.Open();
        Assert.Equal(refused.Reason, await db.LibraryMusic.Select(m => m.Trouble).SingleAsync());
        Assert.Empty((await bench.UnheardAsync()).Libraries);
    }

    private static async Task<KeepMusicOutcome> KeepAsync(SealBench bench, string title, string credit, byte[]? recording, string slug = "kettle")
    {
        await using var db = bench.Shelf.Open();
        using var sent = recording is null ? null : new MemoryStream(recording);
        return await new KeepMusic(db, bench.Store, bench.Shelf.Clock).RunAsync(slug, title, credit, sent, CancellationToken.None);
    }

    private static async Task<MakeMusicOutcome> MakeAsync(SealBench bench, IBlobStore? store = null)
    {
        await using var db = bench.Shelf.Open();
        return await new MakeMusic(db, store ?? bench.Store, bench.Shelf.Clock).RunAsync(await db.Libraries.Select(l => l.Id).SingleAsync(), CancellationToken.None);
    }

    private static async Task<BoxListening?> HeardAsync(SealBench bench, long release)
    {
        await using var db = bench.Shelf.Open();
        return await new ReadListening(db).RunAsync(release, await db.Libraries.Select(l => l.Id).SingleAsync(), CancellationToken.None);
    }

    private static async Task<string?> OpenAsync(SealBench bench)
    {
        await using var db = bench.Shelf.Open();
        return await new OpenMusic(db).RunAsync("kettle", isWav: false, CancellationToken.None);
    }
}

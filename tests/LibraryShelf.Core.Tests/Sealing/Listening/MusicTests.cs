using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Tests.Checking;
using LibraryShelf.Core.Tests.Data;
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
        Assert.Null((await HeardAsync(bench, release)).Music);
        Assert.IsType<MakeMusicOutcome.Made>(await MakeAsync(bench));
        Assert.IsType<MakeMusicOutcome.NothingToDo>(await MakeAsync(bench));
        Assert.Empty((await bench.UnheardAsync()).Libraries);
        var made = (await HeardAsync(bench, release)).Music!;
        Assert.Equal(("Low water", "Played by Edda Quill."), (made.Title, made.Credit));
        Assert.Equal(2, made.Seconds, 0.001);
        Assert.InRange(made.TruePeakDbtp!.Value, -40, -1);

        Assert.False(Assert.IsType<KeepMusicOutcome.Kept>(await KeepAsync(bench, "High water", "", null)).IsNew);
        Assert.Equal(("High water", made.OpusSha256), ((await HeardAsync(bench, release)).Music!.Title, (await HeardAsync(bench, release)).Music!.OpusSha256));

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
        await RefusedAsync("Recording", "Low water", "no recording at all"u8.ToArray(), "This recording can’t be read: it starts like no kind of recording. WAV and AIFF are taken, at most 5 minutes long.");
        await RefusedAsync("Recording", "Low water", []);
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(220)[..200]);
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(0));
        await RefusedAsync("Recording", "Low water", HeardBench.Struck(220, 301), "It is 301 seconds long; 300 are the most. Send a shorter one.");
        await using var db = bench.Shelf.Open();
        Assert.False(await db.LibraryMusic.AnyAsync());

        async Task RefusedAsync(string field, string title, byte[]? recording, string said = "")
        {
            var refusal = Assert.Single(Assert.IsType<KeepMusicOutcome.Refused>(await KeepAsync(bench, title, "", recording)).Refusals);
            Assert.Equal(field, refusal.Field);
            Assert.Contains(said, refusal.Words, StringComparison.Ordinal);
        }
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
        Assert.Contains("Send the recording again", await db.LibraryMusic.Select(m => m.Trouble).SingleAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Whatever_goes_wrong_in_the_making_is_said_of_the_piece_and_stops_nothing_else()
    {
        await using var bench = await SealBench.MakeAsync();
        await KeepAsync(bench, "Low water", "", HeardBench.Struck(220, 2));
        var refused = Assert.IsType<MakeMusicOutcome.Refused>(await MakeAsync(bench, new WatchedStore(bench.Store) { Opening = _ => throw new InvalidOperationException() }));
        Assert.IsType<InvalidOperationException>(refused.Fault);
        Assert.StartsWith("The piece of music “Low water” is not on the library’s page: it could be read, but the shelf stopped", refused.Reason, StringComparison.Ordinal);
        await using var db = bench.Shelf.Open();
        Assert.Equal(refused.Reason, await db.LibraryMusic.Select(m => m.Trouble).SingleAsync());
        Assert.Empty((await bench.UnheardAsync()).Libraries);
    }

    [Fact]
    public async Task How_far_it_is_is_said_in_seconds_of_sound_and_nothing_of_it_is_left()
    {
        await using var bench = await SealBench.MakeAsync();
        await KeepAsync(bench, "Low water", "", HeardBench.Struck(220, 5));
        var (steps, seen) = (0, new List<(int, int)>());
        Assert.IsType<MakeMusicOutcome.Made>(await MakeAsync(bench, between: _ =>
        {
            if (++steps == 3)
                seen.Add(HowFarBench.WaitForRow(bench) is var row ? (row.Done, row.Total) : default);
        }));
        // Two changes of rate and the writing.
        Assert.Equal(3 * 5, Assert.Single(seen).Item2);
        Assert.InRange(seen[0].Item1, 1, 3);
        await using var db = bench.Shelf.Open();
        Assert.Empty(await db.WorkProgress.ToListAsync());
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Taken_off_the_page_or_replaced_while_it_is_made_it_is_not_made_to_its_end(bool isReplaced)
    {
        await using var bench = await SealBench.MakeAsync();
        await KeepAsync(bench, "Low water", "", HeardBench.Struck(220, 20));
        var steps = 0;
        Assert.IsType<MakeMusicOutcome.NothingToDo>(await MakeAsync(bench, between: stop =>
        {
            steps++;
            HowFarBench.WaitForRow(bench);
            TakeAwayAsync(bench, isReplaced).GetAwaiter().GetResult();
            HowFarBench.WaitFor(bench, () => stop.IsCancellationRequested);
        }));
        Assert.Equal(1, steps);
        await using var db = bench.Shelf.Open();
        Assert.Empty(await db.WorkProgress.ToListAsync());
        Assert.Equal(isReplaced ? ["Ebb"] : [], await db.LibraryMusic.Select(m => m.Title).ToListAsync());
        Assert.Equal(isReplaced, (await bench.UnheardAsync()).IsAny);
    }

    private static async Task TakeAwayAsync(SealBench bench, bool isReplaced)
    {
        await using var db = bench.Shelf.Open();
        if (isReplaced)
            await KeepAsync(bench, "Ebb", "", HeardBench.Struck(330, 2));
        else
            await new RemoveMusic(db).RunAsync("kettle", CancellationToken.None);
    }

    private static async Task<KeepMusicOutcome> KeepAsync(SealBench bench, string title, string credit, byte[]? recording, string slug = "kettle")
    {
        await using var db = bench.Shelf.Open();
        using var sent = recording is null ? null : new MemoryStream(recording);
        return await new KeepMusic(db, bench.Store, bench.Shelf.Clock).RunAsync(slug, title, credit, sent, CancellationToken.None);
    }

    private static async Task<MakeMusicOutcome> MakeAsync(SealBench bench, IBlobStore? store = null, Action<CancellationToken>? between = null)
    {
        await using var db = bench.Shelf.Open();
        return await new MakeMusic(db, store ?? bench.Store, bench.Shelf.Clock) { Between = between }.RunAsync(await db.Libraries.Select(l => l.Id).SingleAsync(), CancellationToken.None);
    }

    private static async Task<BoxListening> HeardAsync(SealBench bench, long release)
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

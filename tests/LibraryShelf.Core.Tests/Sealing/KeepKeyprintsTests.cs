using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Keyprints;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class KeepKeyprintsTests
{
    [Fact]
    public async Task What_was_sealed_keeps_its_keyprint_whatever_is_measured_later()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await MeasureAsync(bench, id, ringMs: 900);
        await bench.SealedAsync(id);
        await PublishedAsync(bench, id);
        var sealedPrint = await LookAsync(bench);
        Assert.Equal(0.9, Assert.Single(sealedPrint.Reeds).RingSeconds);

        await MeasureAsync(bench, id, ringMs: 5_000);
        Assert.Equal(0, await WithAsync(bench, db => new KeepKeyprints(db).RunAsync(default)));
        Assert.Equal(Drawn(sealedPrint), Drawn(await LookAsync(bench)));
    }

    [Fact]
    public async Task A_version_without_a_row_gets_one_and_looks_the_same_before_and_after()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await MeasureAsync(bench, id, ringMs: 900);
        await bench.SealedAsync(id);
        await PublishedAsync(bench, id);
        await WithAsync(bench, db => db.SealedKeyprints.ExecuteDeleteAsync());
        var before = await LookAsync(bench);
        Assert.Equal(1, await WithAsync(bench, db => new KeepKeyprints(db).RunAsync(default)));
        Assert.Equal(0, await WithAsync(bench, db => new KeepKeyprints(db).RunAsync(default)));
        await MeasureAsync(bench, id, ringMs: 5_000);
        Assert.Equal(Drawn(before), Drawn(await LookAsync(bench)));
    }

    [Fact]
    public async Task What_could_not_be_drawn_is_tried_again_by_a_later_generation_of_measures_and_not_before()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.SealedAsync(id);
        Assert.Equal("", await WithAsync(bench, db => db.SealedKeyprints.Select(k => k.Print).SingleAsync()));
        await MeasureAsync(bench, id, ringMs: 900);
        Assert.Equal(0, await WithAsync(bench, db => new KeepKeyprints(db).RunAsync(default)));
        await WithAsync(bench, db => db.SealedKeyprints.ExecuteUpdateAsync(k => k.SetProperty(x => x.Measures, RecordingFacts.CurrentGeneration - 1)));
        Assert.Equal(1, await WithAsync(bench, db => new KeepKeyprints(db).RunAsync(default)));
        Assert.NotEqual("", await WithAsync(bench, db => db.SealedKeyprints.Select(k => k.Print).SingleAsync()));
    }

    [Fact]
    public async Task Facts_that_are_remembered_give_the_picture_that_those_in_the_database_give_and_are_not_read_again()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await MeasureAsync(bench, id, ringMs: 900);
        var known = new KnownFacts();
        var read = await MakeAsync();
        Assert.Equal(0.9, Assert.Single(read.Reeds).RingSeconds);
        var row = await WithAsync(bench, db => db.Measurements.AsNoTracking().SingleAsync());
        known.Keep(row.Sha256, JsonSerializer.Deserialize<RecordingFacts>(row.Facts)!);
        Assert.Equal(Drawn(read), Drawn(await MakeAsync()));
        await WithAsync(bench, db => db.Measurements.ExecuteUpdateAsync(m => m.SetProperty(x => x.Facts, "no facts")));
        Assert.Equal(Drawn(read), Drawn(await MakeAsync()));

        Task<Keyprint> MakeAsync() => WithAsync(bench, db => SealedKeyprint.MakeAsync(db, id, known, default));
    }

    private static async Task<T> WithAsync<T>(SealBench bench, Func<ShelfDb, Task<T>> work)
    {
        await using var db = bench.Shelf.Open();
        return await work(db);
    }

    private static string Drawn(Keyprint print) => KeyprintDrawing.Large(print, PaintColours.Of(Paint.Tar));

    /// <summary>By a program that has just started: nothing is known in its memory.</summary>
    private static Task<Keyprint> LookAsync(SealBench bench) => WithAsync(bench, async db =>
    {
        var slug = await db.Libraries.Select(l => l.Slug).SingleAsync();
        return (await new ReadKeyprint(db, new KnownKeyprints(), bench.Shelf.Clock).RunAsync(slug, "1.0.0", personId: null, default))!.Print;
    });

    private static Task PublishedAsync(SealBench bench, long id) => WithAsync(bench, async db =>
    {
        var release = await db.Releases.Include(r => r.Library).SingleAsync(r => r.Id == id);
        release.Library.Decide(Audience.Free, bench.Shelf.Clock.GetUtcNow());
        release.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow());
        return await db.SaveChangesAsync();
    });

    private static Task MeasureAsync(SealBench bench, long id, double ringMs) => WithAsync(bench, async db =>
    {
        await db.Measurements.ExecuteDeleteAsync();
        await db.ReleaseSheets.Where(s => s.ReleaseId == id).ExecuteDeleteAsync();
        var file = await db.ReleaseFiles.Where(f => f.ReleaseId == id).Select(f => new { f.Path, f.Sha256 }).SingleAsync();
        db.Measurements.Add(new Measurement
        {
            Sha256 = file.Sha256, Generation = RecordingFacts.CurrentGeneration,
            Facts = JsonSerializer.Serialize(new RecordingFacts { Decay60Ms = ringMs, BrightnessHz = 900, LoudestRmsDbfs = -20, AttackMs = 4 }),
        });
        db.ReleaseSheets.Add(new ReleaseSheet { ReleaseId = id, Places = JsonSerializer.Serialize(new[] { new RecordingPlace { Path = file.Path, Note = 60, Layer = 1, Take = 1 } }) });
        return await db.SaveChangesAsync();
    });
}

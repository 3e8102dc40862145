using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Checking.CheckBench;

namespace LibraryShelf.Core.Tests.Checking;

public sealed class ReadSheetTests
{
    private static readonly byte[] Sound = Wav(1000, -2000, 3000);
    private static readonly byte[] Silence = Wav(0, 0, 0);

    [Fact]
    public async Task A_sheet_has_each_recording_with_its_place_facts_and_findings_and_what_is_about_the_library_apart()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("B3.wav", Silence),
            ("Jar.sfz", Text("<region> sample=A3.wav key=57\n<region> sample=B3.wav key=59\n<region> sample=gone.wav key=60")));
        await bench.CheckAsync(id);
        var sheet = (await ReadAsync(bench, id))!;
        Assert.True(sheet is { IsCurrent: true, HasPlaces: true });
        Assert.Equal(["A3.wav", "B3.wav"], sheet.Recordings.Select(r => r.Path));
        Assert.Equal([57, 59], sheet.Recordings.Select(r => r.Place!.Note));
        Assert.Equal((SheetVerdict.MustFix, true), (sheet.Recordings[1].Verdict, sheet.Recordings[1].Facts!.Silent));
        Assert.Contains(sheet.Recordings[1].Findings, f => f.Code == FindingCodes.RecordingSilent);
        Assert.Contains(sheet.LibraryFindings, f => f.Code == FindingCodes.MappingMissingFile);
        Assert.DoesNotContain(sheet.LibraryFindings, f => f.Code == FindingCodes.RecordingSilent);
        Assert.Null(await ReadAsync(bench, id + 1));
    }

    [Fact]
    public async Task A_sheet_from_before_places_were_kept_shows_its_findings()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("B3.wav", Silence));
        await bench.CheckAsync(id);
        await using (var db = bench.Open())
            Assert.Equal(1, await db.ReleaseSheets.ExecuteDeleteAsync());
        var sheet = (await ReadAsync(bench, id))!;
        Assert.False(sheet.HasPlaces);
        Assert.Null(sheet.Recordings[0].Place);
        Assert.Equal(SheetVerdict.MustFix, sheet.Recordings[0].Verdict);

        await using (var db = bench.Open())
            Assert.IsType<JudgeAgainOutcome.Asked>(await new JudgeAgain(db, bench.Shelf.Clock).RunAsync(id, default));
        bench.Store.Opened.Clear();
        Assert.IsType<CheckReleaseOutcome.Checked>(await bench.RunAsync(id));
        Assert.Empty(bench.Store.Opened);
        Assert.True((await ReadAsync(bench, id))!.HasPlaces);
    }

    [Fact]
    public async Task A_sealed_release_and_one_that_was_never_checked_are_not_judged_again()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await using var db = bench.Open();
        var judge = new JudgeAgain(db, bench.Shelf.Clock);
        Assert.IsType<JudgeAgainOutcome.Closed>(await judge.RunAsync(id, default));
        await bench.CheckAsync(id);
        db.ChangeTracker.Clear();
        (await db.Releases.SingleAsync()).MoveTo(ReleaseState.Sealed, bench.Shelf.Clock.GetUtcNow());
        await db.SaveChangesAsync();
        Assert.IsType<JudgeAgainOutcome.Closed>(await judge.RunAsync(id, default));
        Assert.Equal(ReleaseState.Sealed, (await bench.ReleaseAsync(id)).State);
        Assert.IsType<JudgeAgainOutcome.NoSuchRelease>(await judge.RunAsync(id + 1, default));
    }

    [Fact]
    public async Task A_recording_is_found_by_its_bytes_in_its_own_release_only()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("b/A3.wav", Sound), ("a/A3.wav", Sound), ("notes.txt", Text("x")));
        var other = await bench.DraftAsync("1.1.0", ("B3.wav", Silence));
        await using var db = bench.Open();
        var hashes = await db.ReleaseFiles.ToDictionaryAsync(f => f.Path, f => f.Sha256, StringComparer.Ordinal);
        var find = new FindRecording(db);
        Assert.Equal("a/A3.wav", await find.RunAsync(id, hashes["b/A3.wav"], default));
        Assert.Null(await find.RunAsync(other, hashes["b/A3.wav"], default));
        Assert.Null(await find.RunAsync(id, hashes["notes.txt"], default));
    }

    /// <summary>How long the page of so many takes is the benchmark's matter (`sheet`).</summary>
    [Fact]
    public async Task Two_thousand_recordings_are_read_whole()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await bench.CheckAsync(id);
        await FillAsync(bench, id, 2_000);
        var sheet = (await ReadAsync(bench, id))!;
        Assert.Equal(2_001, sheet.Recordings.Count(r => r.Facts is { Outline.Length: > 0 }));
    }

    /// <summary>Rows as a check of so many recordings leaves them, with an outline of full length each.</summary>
    private static async Task FillAsync(CheckBench bench, long id, int count)
    {
        await using var db = bench.Open();
        var facts = JsonSerializer.Serialize(new RecordingFacts
        {
            Container = "wav", Coding = "pcm", SampleRate = 48_000, Bits = 24, Channels = 2, Frames = 96_000, SamplePeakDbfs = -3.21, TruePeakDbtp = -3.1,
            LoudnessLufs = -18.3, NoiseFloorDbfs = -71.2, LeadInMs = 4.1, Outline = Convert.ToBase64String(new byte[2 * RecordingFacts.OutlineColumns]),
        });
        var places = new List<RecordingPlace>();
        for (var i = 0; i < count; i++)
        {
            var hash = i.ToString("x64", System.Globalization.CultureInfo.InvariantCulture);
            db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = id, Path = $"r/{i:0000}.wav", Sha256 = hash, Size = 1 });
            db.Measurements.Add(new Measurement { Sha256 = hash, Generation = RecordingFacts.CurrentGeneration, Facts = facts });
            places.Add(new RecordingPlace { Path = $"r/{i:0000}.wav", Note = 21 + i % 88, NoteFrom = "mapping", Layer = 1 + i / 88 % 8, Layers = 8, Take = 1 + i / 704 });
        }
        (await db.ReleaseSheets.SingleAsync()).Places = JsonSerializer.Serialize(places);
        await db.SaveChangesAsync();
    }

    private static async Task<SheetReading?> ReadAsync(CheckBench bench, long id)
    {
        await using var db = bench.Open();
        return await new ReadSheet(db).RunAsync(id, default);
    }
}

using System.Globalization;
using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Benchmarks.Sending;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Benchmarks.Checking;

/// <summary>The check sheet of 2,000 recordings, one in twenty with a finding, as the maker's browser gets it: first the folded page, then every row.</summary>
internal static class SheetBench
{
    private const int Recordings = 2_000;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("sheet"));
        var release = await FillAsync(shelf);
        var server = await shelf.StartAsync(bench);
        using var maker = new MakerAtWork(shelf, server, bench.NewFolder("sheet-cache"));
        await maker.SignInAsync();
        var page = $"/workbench/releases/{release}/sheet";
        await maker.LookAsync(page);
        var seconds = await bench.InTurnsAsync(_ => maker.LookAsync(page), _ => maker.LookAsync(page + "?all=true"));
        bench.Add("the check sheet of 2,000 recordings", 1000 * seconds[0], "ms", "< 1000", seconds[0] < 1);
        Bench.Say($"with every row asked for: {1000 * seconds[1]:0} ms");
    }

    private static async Task<long> FillAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        var now = DateTimeOffset.UnixEpoch;
        var release = new Release { Number = "1.0.0", CreatedAt = now, Recordings = Recordings, Keys = 88, LowestKey = 21, HighestKey = 108, Layers = 8, Takes = 3 };
        release.MoveTo(ReleaseState.Checked, now);
        var library = new Library { Slug = "bench", Title = "Bench", CreatedAt = now };
        library.Releases.Add(release);
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        var facts = JsonSerializer.Serialize(new RecordingFacts
        {
            Container = "wav", Coding = "pcm", SampleRate = 48_000, Bits = 24, Channels = 2, Frames = 96_000, SamplePeakDbfs = -3.21, TruePeakDbtp = -3.1,
            LoudnessLufs = -18.3, MomentaryMaxLufs = -15.1, NoiseFloorDbfs = -71.2, LeadInMs = 4.1, Pitch = new PitchEstimate(440, 69, 1.2, 0.99),
            Outline = Convert.ToBase64String(new byte[2 * RecordingFacts.OutlineColumns]),
        });
        var places = new List<RecordingPlace>();
        for (var i = 0; i < Recordings; i++)
        {
            var (path, hash) = ($"r/{i:0000}.wav", i.ToString("x64", CultureInfo.InvariantCulture));
            db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = release.Id, Path = path, Sha256 = hash, Size = 576_044 });
            db.Measurements.Add(new Measurement { Sha256 = hash, Generation = RecordingFacts.CurrentGeneration, Facts = facts, MeasuredAt = now });
            places.Add(new RecordingPlace { Path = path, Note = 21 + i % 88, NoteFrom = "mapping", Layer = 1 + i / 88 % 8, Layers = 8, Take = 1 + i / 704 });
            if (i % 20 == 0)
                db.SheetEntries.Add(new SheetEntry
                {
                    ReleaseId = release.Id, Code = FindingCodes.LeadInLong, Severity = Severity.ListenAgain, Path = path, ContentSha256 = hash, Order = i,
                    Message = "The sound starts 62 ms after the file does, later than 20 ms: the key feels late. Trim its start.",
                });
        }
        db.ReleaseSheets.Add(new ReleaseSheet { ReleaseId = release.Id, Places = JsonSerializer.Serialize(places) });
        await db.SaveChangesAsync();
        return release.Id;
    }
}

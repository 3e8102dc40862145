using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class ReadRecordedTests
{
    [Fact]
    public async Task All_recordings_are_said_together_each_form_once_and_what_is_no_recording_is_left_out()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"), ("b.wav", "b"), ("c.wav", "c"), ("d.sfz", "d"));
        await using var db = bench.Shelf.Open();
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == id).ToDictionaryAsync(f => f.Path, f => f.Sha256);
        RecordingFacts[] facts =
        [
            new() { Coding = "pcm", SampleRate = 48_000, Bits = 24, Channels = 2, Frames = 96_000 },
            new() { Coding = "pcm", SampleRate = 44_100, Bits = 16, Channels = 1, Frames = 66_150 },
            new() { Coding = "float", SampleRate = 48_000, Bits = 32, Channels = 2, Frames = 24_000 },
            new(),
        ];
        await db.Measurements.ExecuteDeleteAsync();
        await db.ReleaseSheets.ExecuteDeleteAsync();
        db.Measurements.AddRange(files.OrderBy(f => f.Key, StringComparer.Ordinal).Select((f, i) =>
            new Measurement { Sha256 = f.Value, Generation = RecordingFacts.CurrentGeneration, Facts = JsonSerializer.Serialize(facts[i]) }));
        db.ReleaseSheets.Add(new ReleaseSheet
        {
            ReleaseId = id,
            Places = JsonSerializer.Serialize(new[] { new RecordingPlace { Path = "a.wav", Microphone = "room" }, new RecordingPlace { Path = "b.wav", Microphone = "near" }, new RecordingPlace { Path = "c.wav" } }),
        });
        await db.SaveChangesAsync();

        var known = new KnownRecorded();
        var recorded = (await new ReadRecorded(db, known).RunAsync(id, default))!;
        Assert.Equal([44_100, 48_000], recorded.Rates);
        Assert.Equal([16, 24], recorded.Bits);
        Assert.Equal([32], recorded.FloatBits);
        Assert.Equal([1, 2], recorded.Channels);
        Assert.Equal(["near", "room"], recorded.Microphones);
        Assert.Equal(2 + 1.5 + 0.5, recorded.Seconds, 1e-9);

        await db.Measurements.ExecuteDeleteAsync();
        Assert.Same(recorded, await new ReadRecorded(db, known).RunAsync(id, default));
        Assert.Null(await new ReadRecorded(db, new KnownRecorded()).RunAsync(id, default));
    }
}

using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Packaging.Tests.Keyprints;

public sealed class KeyprintReadingTests
{
    private static readonly RecordingFacts Struck = new() { Decay20Ms = 400, Decay60Ms = 1_000, BrightnessHz = 1_000, LoudestRmsDbfs = -20, AttackMs = 5 };

    private static RecordingPlace Place(string path, int? note, int? layer = 1, int? take = 1) => new() { Path = path, Note = note, Layer = layer, Take = take, LowKey = note, HighKey = note };

    [Fact]
    public void A_reed_has_what_its_takes_have_in_the_middle()
    {
        var print = KeyprintReading.Of(
        [
            (Place("a", 60, 1, 1), Struck), (Place("b", 60, 1, 2), Struck with { Decay60Ms = 3_000, BrightnessHz = 2_000 }), (Place("c", 60, 1, 3), Struck with { Decay60Ms = 2_000 }),
            (Place("d", 60, 2), Struck with { LoudestRmsDbfs = -6 }), (Place("e", 64), Struck),
        ]);
        Assert.Equal([(60, 1, 2, 3), (60, 2, 2, 1), (64, 1, 1, 1)], print.Reeds.Select(r => (r.Key, r.Layer, r.Layers, r.Takes)));
        Assert.Equal((2.0, 1_000.0, -20.0), (print.Reeds[0].RingSeconds, print.Reeds[0].BrightnessHz, print.Reeds[0].LoudnessDb));
        Assert.Equal((60, 64, 2), (print.Lowest, print.Highest, print.Keys));
        Assert.Equal([true, false, false], print.Reeds.Select(r => r.IsSoft)); // one layer alone is ink
    }

    [Fact]
    public void The_order_in_which_recordings_come_does_not_matter()
    {
        var recordings = Enumerable.Range(0, 40).Select(i => (Place($"r{i:00}", 48 + i / 4, 1 + i % 2, 1 + i / 2 % 2), Struck with { Decay60Ms = 100 + 37 * i % 41, BrightnessHz = 200 + 97 * i })).ToList();
        var paint = new PrintPaint("#000000", "#ffffff", "#888888");
        var shuffled = new Random(7);
        var first = KeyprintDrawing.Large(KeyprintReading.Of(recordings), paint);
        for (var i = 0; i < 10; i++)
            Assert.Equal(first, KeyprintDrawing.Large(KeyprintReading.Of(recordings.OrderBy(_ => shuffled.Next())), paint));
    }

    /// <summary>ISO 3382-1: a T20 is three times the time of a fall of 20 dB.</summary>
    [Fact]
    public void A_recording_cut_before_60_dB_rings_three_times_its_20_dB_and_one_cut_before_those_is_not_drawn()
    {
        var print = KeyprintReading.Of([(Place("a", 60), Struck with { Decay60Ms = null }), (Place("b", 61), Struck with { Decay60Ms = null, Decay20Ms = null })]);
        Assert.Equal((60, 1.2), (print.Reeds.Single().Key, print.Reeds.Single().RingSeconds));
        Assert.Equal((1, 60, 61), (print.Unmeasured, print.Lowest, print.Highest));
    }

    [Fact]
    public void What_loops_needs_no_ring()
    {
        var looped = Struck with { Decay20Ms = null, Decay60Ms = null, Loops = [new LoopPoints(100, 200, LoopKind.Forward, 0)] };
        Assert.True(KeyprintReading.Of([(Place("a", 60), looped)]).Reeds.Single().IsLooped);
    }

    [Fact]
    public void One_way_of_playing_at_one_microphone_is_drawn_and_the_rest_is_counted()
    {
        var print = KeyprintReading.Of(
        [
            (Place("a", 60) with { Articulation = "struck", Microphone = "near" }, Struck), (Place("b", 62) with { Articulation = "struck", Microphone = "near" }, Struck),
            (Place("c", 60) with { Articulation = "struck", Microphone = "room" }, Struck), (Place("d", 60) with { Articulation = "rolled" }, Struck),
            (Place("e", 60) with { Articulation = "struck", Microphone = "near", IsLift = true }, Struck), (new RecordingPlace { Path = "f" }, Struck),
        ]);
        Assert.Equal(("struck", "near", 3, 1), (print.Articulation, print.Microphone, print.OtherRecordings, print.WithoutKey));
        Assert.Equal([60, 62], print.Reeds.Select(r => r.Key));
    }

    [Fact]
    public void A_kit_stands_at_the_keys_that_sound_it_and_nothing_gives_no_picture()
    {
        var print = KeyprintReading.Of([(new RecordingPlace { Path = "tin", Note = 60, LowKey = 36, HighKey = 36 }, Struck), (new RecordingPlace { Path = "pan", LowKey = 38, HighKey = 38 }, Struck)]);
        Assert.Equal([36, 38], print.Reeds.Select(r => r.Key));
        Assert.Empty(KeyprintReading.Of([]).Reeds);
    }
}

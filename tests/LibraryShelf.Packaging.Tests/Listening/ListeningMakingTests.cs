using System.Globalization;
using System.Text.Json;
using System.Text.RegularExpressions;
using LibraryShelf.Audio.Previews;
using LibraryShelf.Packaging.Listening;
using LibraryShelf.Packaging.Tests.Archives;
using LibraryShelf.Packaging.Tests.Comparisons;

namespace LibraryShelf.Packaging.Tests.Listening;

/// <summary>
/// What can be heard of a library, held against ffmpeg's ebur128: the loudness of EBU R 128 where the limit of true peak leaves it, and that limit always.
/// It prints one decimal: that −1.0 is not passed says that the peak it found is below −0.95 dBTP.
/// </summary>
public sealed partial class ListeningMakingTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-listen-").FullName;

    [Fact]
    public void Levels_are_what_ffmpeg_measures_and_no_peak_is_above_the_limit()
    {
        var made = Make(MadeLibrary.Create(1));
        Assert.Equal([false, true], made.Excerpts.Select(e => e.IsSoftToHard));
        foreach (var excerpt in made.Excerpts)
        {
            var (loudness, peak) = Ask(Save(made, excerpt.Name + ".opus"));
            Assert.Equal(loudness, excerpt.LoudnessLufs!.Value, 0.11);
            Assert.InRange(peak, -60, ListeningSet.LimitDbtp);
            Assert.InRange(Ask(Save(made, excerpt.Name + ".wav")).Peak, -60, ListeningSet.LimitDbtp);
        }
        Assert.False(made.IsLimited);
        Assert.Equal(ListeningSet.TargetLufs, made.LoudnessLufs!.Value, 0.3);
    }

    /// <summary>A click over a faint tone: as loud as wanted its peak would be far above full scale. Half of it lies where the codec hears nothing, which is not held against it.</summary>
    [Fact]
    public void Where_loudness_and_limit_cannot_both_be_had_the_limit_wins()
    {
        var library = new MadeLibrary();
        var click = new double[MadeLibrary.Rate];
        for (var i = 0; i < 20; i++)
            click[2000 + i] = 0.9 * Math.Sin(i * Math.PI / 10);
        click[4001] = 0.9;
        click[4002] = -0.9;
        library.Files["A4.wav"] = MadeLibrary.Wav([.. click.Select((x, i) => x + 0.0005 * Math.Sin(i * 0.1))]);
        library.Regions.Add(("A4.wav", 69, 1, 1));
        var made = Make(library);
        Assert.True(made.IsLimited);
        Assert.InRange(made.TruePeakDbtp!.Value, ListeningSet.LimitDbtp - 1.5, ListeningSet.LimitDbtp);
        Assert.InRange(made.LoudnessLufs!.Value, -80, ListeningSet.TargetLufs - 1);
        Assert.InRange(Ask(Save(made, "excerpt-1.opus")).Peak, -8, ListeningSet.LimitDbtp);
    }

    /// <summary>What the maker adds, in stereo and at a rate that has to be changed: an even piece comes out at the loudness asked for, one of few loud beats over a faint tone at the limit.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void A_piece_of_music_is_as_loud_as_ffmpeg_measures_and_no_peak_of_it_is_above_the_limit(bool isOfBeats)
    {
        var made = MusicMaking.Make(Piece(isOfBeats ? i => i < 40 ? 0.9 * Math.Sin(i * Math.PI / 10) : 0 : null), CancellationToken.None);
        Assert.Equal(4, made.Seconds, 0.001);
        var (loudness, peak) = Ask(Saved("music.opus", made.Opus));
        Assert.Equal(loudness, made.LoudnessLufs!.Value, 0.11);
        Assert.InRange(peak, -60, ListeningSet.LimitDbtp);
        Assert.InRange(Ask(Saved("music.wav", made.Wav)).Peak, -60, ListeningSet.LimitDbtp);
        if (isOfBeats)
            Assert.InRange(made.TruePeakDbtp!.Value, ListeningSet.LimitDbtp - 1.5, ListeningSet.LimitDbtp);
        Assert.Equal(!isOfBeats, Math.Abs(loudness - ListeningSet.TargetLufs) < 0.4);
    }

    /// <summary>
    /// Beats of 5 kHz with a sixth of 15 kHz, whose peak is √3/2 of that of the 5 kHz alone: the WAV file, which has no 15 kHz, comes out 1.25 dB higher than the first gain is
    /// made for. One try is too few, and what came of it is not given out.
    /// </summary>
    [Fact]
    public void A_piece_whose_peak_stays_above_the_limit_is_refused()
    {
        var piece = Piece(i => i < 80 ? Math.Pow(Math.Sin(i * Math.PI / 80), 2) * (Math.Sin(i * Math.Tau * 5000 / 44_100) + Math.Sin(i * Math.Tau * 15_000 / 44_100) / 6) : 0);
        Assert.Throws<InvalidOperationException>(() => MusicMaking.Make(piece, mostTries: 1, CancellationToken.None));
        Assert.InRange(MusicMaking.Make(piece, CancellationToken.None).TruePeakDbtp!.Value, -8, ListeningSet.LimitDbtp);
    }

    [Fact]
    public void The_set_sounds_every_key_and_layer_and_each_file_is_whole()
    {
        var made = Make(MadeLibrary.Create(2));
        var manifest = Manifest(made);
        Assert.Equal((ListeningManifest.Shape, 60, 65), (manifest.Format, manifest.LowKey, manifest.HighKey));
        foreach (var set in manifest.Sets)
        {
            var bytes = made.Files.Single(f => f.Name == set.File).Bytes;
            Assert.Equal((set.Bytes, set.Mark), (bytes.Length, ListeningMaking.MarkOf(bytes.Span)));
            for (var key = 60; key <= 65; key++)
                foreach (var velocity in new[] { 1, 63, 64, 127 })
                {
                    var sounding = set.Regions.Where(r => r.Low <= key && key <= r.High && r.Softest <= velocity && velocity <= r.Hardest).ToList();
                    Assert.Equal(set.File == ListeningSet.OpusName ? [0, 1] : [0], sounding.Select(r => r.Take).Order());
                }
            foreach (var region in set.Regions)
            {
                var path = Path.Combine(folder, "part");
                File.WriteAllBytes(path, bytes.Span.Slice(region.At, region.Bytes).ToArray());
                var said = OutsideTool.Run(folder, "ffprobe", "-v", "error", "-show_entries", "format=duration", "-of", "csv=p=0", path);
                // A third of a second was recorded, and not one key's is left out.
                Assert.Equal(1 / 3.0, double.Parse(said, CultureInfo.InvariantCulture), 0.01);
            }
        }
    }

    [Fact]
    public void The_same_library_gives_the_same_bytes()
    {
        var (one, other) = (Make(MadeLibrary.Create(3)), Make(MadeLibrary.Create(3)));
        Assert.Equal(one.Files.Select(f => (f.Name, ListeningMaking.MarkOf(f.Bytes.Span))), other.Files.Select(f => (f.Name, ListeningMaking.MarkOf(f.Bytes.Span))));
    }

    /// <summary>Two takes on 21 keys, eight seconds each: the set of WAV files can't hold them, that in Ogg Opus can (<see cref="ThinningTests"/> has more).</summary>
    [Fact]
    public void A_large_library_stays_below_three_megabytes_and_no_key_falls_silent()
    {
        var library = new MadeLibrary { Settings = "ampeg_release=0.4" };
        // A handful of recordings under many names would share their bytes, so each differs in one sample.
        var tone = Enumerable.Range(0, 8 * MadeLibrary.Rate).Select(i => 0.3 * Math.Sin(i * 0.12)).ToArray();
        for (var key = 36; key <= 96; key += 3)
            for (var take = 1; take <= 2; take++)
            {
                tone[0] += 1 / 8192.0;
                library.Files[$"{key}-{take}.wav"] = MadeLibrary.Wav(tone);
                library.Regions.Add(($"{key}-{take}.wav", key, 1, take));
            }
        library.Mapping = "<global> ampeg_release=0.4\n" + string.Concat(library.Regions.Select(r =>
            $"<region> sample={r.Path} lokey={r.Key - 1} hikey={r.Key + 1} pitch_keycenter={r.Key} seq_length=2 seq_position={r.Take}\n"));
        var made = Make(library);
        var manifest = Manifest(made);
        foreach (var set in manifest.Sets)
        {
            Assert.InRange(set.Bytes + made.Files.Single(f => f.Name == ListeningSet.ManifestName).Bytes.Length, 500_000, 2_999_999);
            for (var key = 35; key <= 97; key++)
                Assert.True(set.Regions.Any(r => r.Low <= key && key <= r.High && Math.Abs(key - r.Centre) <= 12), $"{set.File}: key {key}");
        }
    }

    [Fact]
    public void A_key_of_a_kit_is_never_played_by_another_one()
    {
        var library = new MadeLibrary();
        for (var key = 36; key < 96; key++)
            library.Add($"{key}.wav", key, 1, 1, key);
        library.Mapping = string.Concat(library.Regions.Select(r => $"<region> sample={r.Path} key={r.Key} loop_mode=one_shot\n"));
        var manifest = Manifest(ListeningMaking.Make(library.ToFolder(), isPitched: false, CancellationToken.None)!);
        foreach (var set in manifest.Sets)
            Assert.All(set.Regions, r => Assert.Equal((r.Centre, r.Centre, true), (r.Low, r.High, r.Once)));
    }

    [Fact]
    public void Ways_of_playing_are_those_of_the_mappings_and_of_their_switch_keys()
    {
        var library = MadeLibrary.Create(4, keys: 2);
        library.Mapping = "<global> sw_lokey=24 sw_hikey=25 sw_default=24\n"
            + "<region> sw_last=24 sample=Recordings/Jar_60_1_1.wav key=60\n<region> sw_last=25 sample=Recordings/Jar_61_1_1.wav key=60\n"
            + "<region> trigger=release sample=Recordings/Jar_60_0_1.wav key=60\n<region> locc64=64 sample=Recordings/Jar_60_0_2.wav key=60\n";
        var made = Make(library);
        var manifest = Manifest(made);
        Assert.Equal(["switch 24", "switch 25"], manifest.Ways);
        Assert.Equal(["switch 24", "switch 25"], made.Excerpts.Select(e => e.Way));
        Assert.Equal([(0, false), (0, true), (1, false), (1, true)], manifest.Sets[0].Regions.Select(r => (r.Way, r.Lift)).Order());
    }

    /// <summary>Six switch keys: each is heard in an excerpt and can be played, in both sets.</summary>
    [Fact]
    public void However_many_ways_of_playing_are_declared_each_is_heard()
    {
        var library = MadeLibrary.Create(7, keys: 2);
        library.Mapping = "<global> sw_lokey=24 sw_hikey=29 sw_default=24\n"
            + string.Concat(Enumerable.Range(24, 6).Select(way => $"<region> sw_last={way} sample=Recordings/Jar_6{way % 2}_1_1.wav key=60\n"));
        var made = Make(library);
        Assert.All(Manifest(made).Sets, s => Assert.Equal([0, 1, 2, 3, 4, 5], s.Regions.Select(r => r.Way).Distinct().Order()));
        Assert.Equal(6, made.Excerpts.Select(e => e.Way).Distinct().Count());
        Assert.All(made.Excerpts, e => Assert.Equal(6, e.OfWays));
    }

    [Fact]
    public void A_region_of_no_key_or_moved_off_the_keyboard_is_not_played_and_what_is_left_of_one_is()
    {
        var library = MadeLibrary.Create(5, keys: 2);
        library.Mapping = "<region> sample=Recordings/Jar_60_0_1.wav key=-1\n<region> sample=Recordings/Jar_60_0_2.wav lokey=-1 hikey=-1\n"
            + "<control> note_offset=100\n<region> sample=Recordings/Jar_60_1_1.wav key=60\n"
            + "<control> note_offset=-4\n<region> sample=Recordings/Jar_61_0_1.wav lokey=0 hikey=6 pitch_keycenter=6\n";
        var manifest = Manifest(Make(library));
        Assert.Equal((0, 2), (manifest.LowKey, manifest.HighKey));
        Assert.Equal([(0, 2, 2)], manifest.Sets[0].Regions.Select(r => (r.Low, r.High, r.Centre)));
    }

    /// <summary>A pitch no recording has, a release of minutes and a loop under it: neither time nor memory follow them.</summary>
    [Fact]
    public void Whatever_a_mapping_asks_for_a_phrase_stays_as_long_as_a_phrase()
    {
        var library = MadeLibrary.Create(6, keys: 3);
        library.Mapping = "<global> ampeg_release=100 loop_mode=loop_continuous loop_start=0 loop_end=7000\n<region> sample=Recordings/Jar_60_1_1.wav key=60\n"
            + "<region> sample=Recordings/Jar_61_1_1.wav key=61 transpose=127\n<region> sample=Recordings/Jar_62_1_1.wav key=62 transpose=-127\n"
            + "<region> sample=Recordings/Jar_62_0_1.wav lokey=63 hikey=127 pitch_keycenter=63 pitch_keytrack=1200\n";
        Assert.All(Make(library).Excerpts, e => Assert.InRange(e.Seconds, 1, 12));
    }

    [Fact]
    public void Without_a_mapping_declared_notes_are_played()
    {
        var library = new MadeLibrary();
        foreach (var (name, key) in new[] { ("C4", 60), ("E4", 64), ("G4", 67) })
            library.Add($"{name}.wav", key, 1, 1, key);
        library.Regions.Clear();
        var regions = Manifest(Make(library)).Sets[0].Regions;
        Assert.Equal([(60, 60, 62), (64, 63, 65), (67, 66, 67)], regions.Select(r => (r.Centre, r.Low, r.High)));
    }

    [Fact]
    public void What_has_neither_mapping_nor_notes_cannot_be_heard()
    {
        var library = new MadeLibrary { Mapping = "// nothing yet\n" };
        library.Files["Rustle.wav"] = MadeLibrary.Wav(MadeLibrary.Struck(1, 700));
        Assert.Null(ListeningMaking.Make(library.ToFolder(), isPitched: true, CancellationToken.None));
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static ListeningSet Make(MadeLibrary library) => ListeningMaking.Make(library.ToFolder(), isPitched: true, CancellationToken.None)!;

    /// <summary>Four seconds of an even tone, or of a faint one with a loud beat each second, by its samples from its start on.</summary>
    private static Sound Piece(Func<int, double>? beats)
    {
        const int rate = 44_100;
        var samples = new float[2 * 4 * rate];
        for (var i = 0; i < samples.Length / 2; i++)
        {
            var (tone, beat) = (beats is null ? 0.02 : 0.002, beats?.Invoke(i % rate) ?? 0);
            samples[2 * i] = (float)(tone * Math.Sin(2 * Math.PI * 330 * i / rate) + beat);
            samples[2 * i + 1] = (float)(tone * Math.Sin(2 * Math.PI * 440 * i / rate) + beat);
        }
        return new Sound(samples, 2, rate);
    }

    private static ListeningManifest Manifest(ListeningSet made) =>
        JsonSerializer.Deserialize<ListeningManifest>(made.Files.Single(f => f.Name == ListeningSet.ManifestName).Bytes.Span, JsonSerializerOptions.Web)!;

    private string Save(ListeningSet made, string name) => Saved(name, made.Files.Single(f => f.Name == name).Bytes);

    private string Saved(string name, ReadOnlyMemory<byte> bytes)
    {
        var path = Path.Combine(folder, name);
        File.WriteAllBytes(path, bytes.ToArray());
        return path;
    }

    private (double Loudness, double Peak) Ask(string path)
    {
        var raw = Path.Combine(folder, "said.txt");
        OutsideTool.Run(folder, "sh", "-c", $"ffmpeg -nostdin -nostats -i '{path}' -af ebur128=peak=true -f null - 2> '{raw}'");
        var said = File.ReadAllText(raw);
        var summary = said[said.LastIndexOf("Summary:", StringComparison.Ordinal)..];
        return (Number(Integrated().Match(summary)), Number(Peak().Match(summary)));
    }

    private static double Number(Match match) => double.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"I:\s+(-?[\d.]+) LUFS", RegexOptions.None, 1000)]
    private static partial Regex Integrated();

    [GeneratedRegex(@"Peak:\s+(-?[\d.]+) dBFS", RegexOptions.None, 1000)]
    private static partial Regex Peak();
}

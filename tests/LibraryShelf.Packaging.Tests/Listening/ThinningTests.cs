using LibraryShelf.Audio;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Listening;
using LibraryShelf.Packaging.Tests.Comparisons;

namespace LibraryShelf.Packaging.Tests.Listening;

/// <summary>What is chosen of a library far larger than a playable set. Nothing is encoded: sizes are known beforehand.</summary>
public sealed class ThinningTests
{
    private const int Lowest = 36, Highest = 96, Layers = 5, Takes = 4;

    /// <summary>Five layers of four takes on 61 keys, eight seconds each: more than two and a half hours, of which a set in Ogg Opus holds some eight minutes.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Takes_keys_and_layers_are_left_out_and_every_key_sounds_once_however_hard_it_is_struck(bool isOpus)
    {
        var folder = Large();
        var library = new PlayedLibrary(folder);
        var sounds = new PlayedSounds(folder.Recordings, folder.Open);
        Assert.Equal((Highest - Lowest + 1) * Layers * Takes, library.Regions.Count);
        var made = new KeyboardMaking(library, sounds, isOpus ? KeyboardCoding.Opus : KeyboardCoding.Wav, isPitched: true, mostTakes: isOpus ? 8 : 1);
        Assert.InRange(made.Regions.Select(r => r.Centre).Distinct().Count(), 4, 30);
        Assert.InRange(made.Regions.Select(r => r.HighVelocity).Distinct().Count(), isOpus ? 2 : 1, Layers - 1);
        for (var key = Lowest; key <= Highest; key++)
            for (var velocity = 1; velocity <= 127; velocity++)
            {
                var sounding = made.Regions.Where(r => r.LowKey <= key && key <= r.HighKey && r.LowVelocity <= velocity && velocity <= r.HighVelocity).ToList();
                Assert.Equal(Enumerable.Range(0, sounding.Count), sounding.Select(r => r.Take).Order());
                Assert.InRange(sounding.Count, 1, Takes - 1);
                Assert.All(sounding, r => Assert.InRange(r.Centre, key - 12, key + 12));
            }
    }

    /// <summary>Every way of playing that is declared can be played as long as the least of each fits: bytes decide, no number of ways.</summary>
    [Theory]
    [InlineData(ListeningSet.MostBytes, 40, 40)]
    [InlineData(100_000, 10, 39)]
    public void Ways_of_playing_are_left_out_only_where_bytes_run_out(int bytes, int least, int most)
    {
        const int ways = 40;
        var all = Enumerable.Range(0, ways).SelectMany(way => Enumerable.Range(Lowest, 25).Select(key => new PlayedRegion
        {
            Way = way, IsLift = false, LowKey = key, HighKey = key, LowVelocity = 1, HighVelocity = 127, Centre = key, Sha256 = $"{way}-{key}",
        })).ToList();
        var chosen = Thinning.InOrder(ways, isPitched: true, mostTakes: 8).First(t => Bytes(t.Of(all, isPitched: true), t.Seconds) <= bytes).Of(all, isPitched: true);
        var heard = chosen.Select(r => r.Way).Distinct().Order().ToList();
        Assert.Equal(Enumerable.Range(0, heard.Count), heard);
        Assert.InRange(heard.Count, least, most);

        static long Bytes(List<PlayedRegion> regions, double seconds) => regions.Count * (long)KeyboardCoding.Opus.BytesOf(seconds, isMono: true);
    }

    private static ComparedFolder Large()
    {
        var measured = RecordingReader.Read(new MemoryStream(MadeLibrary.Wav([.. Enumerable.Range(0, 8 * MadeLibrary.Rate).Select(i => 0.3 * Math.Sin(i * 0.12))])));
        var regions = from key in Enumerable.Range(Lowest, Highest - Lowest + 1)
                      from layer in Enumerable.Range(0, Layers)
                      from take in Enumerable.Range(1, Takes)
                      select (Path: $"{key}-{layer}-{take}.wav", Text: $"<region> sample={key}-{layer}-{take}.wav key={key} lovel={(layer * 127 / Layers) + 1} "
                          + $"hivel={(layer + 1) * 127 / Layers} seq_length={Takes} seq_position={take}\n");
        var files = regions.ToList();
        const string mapping = "Jar.sfz";
        return new ComparedFolder(
            [new ComparedFile(mapping, 1, mapping), .. files.Select(f => new ComparedFile(f.Path, 1, f.Path))], files.ToDictionary(f => f.Path, _ => measured, StringComparer.Ordinal),
            path => path == mapping ? string.Concat(files.Select(f => f.Text)) : null, _ => throw new InvalidOperationException("Nothing is read to choose."));
    }
}

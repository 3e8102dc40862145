using System.Security.Cryptography;
using System.Text.Json;
using LibraryShelf.Audio.Previews;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Listening;

/// <summary>Makes what can be heard of a library: phrases played through its mappings, and a set small enough to be played in a page.</summary>
public static class ListeningMaking
{
    private const int PhraseBitrate = 96_000, WavRate = 32_000;

    /// <summary>Of more no phrases are made, and the page says so: each is some 3 MB of memory while all are held, and up to 1.7 MB of the disk.</summary>
    internal const int MostWays = 24;

    /// <summary>Each try changes the gain by what was too much, or far too little: two do in all but the oddest.</summary>
    private const int MostTries = 6;

    /// <param name="folder">With facts of all its recordings.</param>
    /// <param name="isPitched">False for a kit, of whose sounds none stands for another.</param>
    /// <param name="cancellationToken">Stops the work between two files.</param>
    /// <param name="told">How many sounds are written, of how many; of more, where all have to be written once more at another gain.</param>
    /// <returns>The same folder gives the same bytes. Null when nothing of it can be played: no mapping and no notes, or no recording that can be read.</returns>
    public static ListeningSet? Make(ComparedFolder folder, bool isPitched, CancellationToken cancellationToken, Action<int, int>? told = null)
    {
        ArgumentNullException.ThrowIfNull(folder);
        var library = new PlayedLibrary(folder);
        var sounds = new PlayedSounds(folder.Recordings, folder.Open);
        var opus = new KeyboardMaking(library, sounds, KeyboardCoding.Opus, isPitched, mostTakes: 8);
        var wav = new KeyboardMaking(library, sounds, KeyboardCoding.Wav, isPitched, mostTakes: 1);
        if (opus.Regions.Count == 0 || wav.Regions.Count == 0)
            return null;
        var phrases = Phrases(library, sounds, isPitched, cancellationToken);
        if (phrases.Count == 0)
            return null;
        var levels = new ListeningLevels(phrases.ConvertAll(p => p.Sound), opus.Regions.Concat(wav.Regions).Select(sounds.PeakOf));
        var written = 0;
        for (var tries = 1; ; tries++)
        {
            var all = tries * (phrases.Count + opus.Regions.Count + wav.Regions.Count);
            var made = Write(library, phrases, opus, wav, levels, () => told?.Invoke(++written, all), cancellationToken);
            if (!levels.Next(made.TruePeakDbtp, mayRaise: tries < MostTries / 2))
                return made;
            if (tries == MostTries)
                throw new InvalidOperationException("The true peak stays above its limit however far the gain is lowered.");
        }
    }

    private sealed record Phrased(string Way, bool IsSoftToHard, Sound Sound);

    private static List<Phrased> Phrases(PlayedLibrary library, PlayedSounds sounds, bool isPitched, CancellationToken cancellationToken)
    {
        var phrases = new List<Phrased>();
        for (var way = 0; way < Math.Min(MostWays, library.Ways.Count); way++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var regions = library.Regions.Where(r => r.Way == way).ToList();
            if (regions.TrueForAll(r => r.IsLift))
                continue;
            var phrase = new Phrase(regions, sounds);
            phrases.Add(new Phrased(library.Ways[way], false, phrase.Play(Phrase.OverTheRange(regions, isPitched))));
            if (way == 0 && Phrase.SoftToHard(regions) is { } strokes)
                phrases.Add(new Phrased(library.Ways[way], true, phrase.Play(strokes)));
        }
        phrases.RemoveAll(p => p.Sound.Frames == 0);
        return phrases;
    }

    private static ListeningSet Write(PlayedLibrary library, List<Phrased> phrases, KeyboardMaking opus, KeyboardMaking wav, ListeningLevels levels, Action written, CancellationToken cancellationToken)
    {
        var gain = levels.Gain;
        var files = new List<ListeningFile>();
        var excerpts = new List<Excerpt>();
        var (heard, peaks) = (new List<Sound>(), new List<double?>());
        foreach (var phrase in phrases)
        {
            cancellationToken.ThrowIfCancellationRequested();
            written();
            var sound = PlayedSounds.Louder(phrase.Sound, gain);
            var encoded = OggOpus.Encode(sound, PhraseBitrate, isConstant: false);
            var plain = Resampler.Read(sound, 1, WavRate);
            var measured = SoundLevels.Of([encoded.Heard]);
            var name = $"excerpt-{excerpts.Count + 1}";
            excerpts.Add(new Excerpt(name, phrase.Way, phrase.IsSoftToHard, sound.Seconds, measured.LoudnessLufs, measured.TruePeakDbtp, library.Ways.Count));
            files.Add(new ListeningFile($"{name}.opus", encoded.Bytes));
            files.Add(new ListeningFile($"{name}.wav", WavFile.Write(plain)));
            heard.Add(encoded.Heard);
            peaks.AddRange([measured.TruePeakDbtp, SoundLevels.Of([plain]).TruePeakDbtp]);
        }
        var (opusFiles, wavFiles) = (opus.Write(gain, written, cancellationToken), wav.Write(gain, written, cancellationToken));
        files.Add(new ListeningFile(ListeningSet.OpusName, opusFiles.Bytes));
        files.Add(new ListeningFile(ListeningSet.WavName, wavFiles.Bytes));
        files.Add(new ListeningFile(ListeningSet.ManifestName, ManifestOf(library, opusFiles, wavFiles)));
        var peak = peaks.Append(opusFiles.TruePeakDbtp).Append(wavFiles.TruePeakDbtp).Max();
        return new ListeningSet(files, excerpts, gain, levels.IsLimited, SoundLevels.Of(heard).LoudnessLufs, peak, opusFiles.Bytes.Length);
    }

    private static byte[] ManifestOf(PlayedLibrary library, KeyboardFiles opus, KeyboardFiles wav)
    {
        var keys = opus.Regions.Where(r => !r.Lift).ToList();
        var probe = OggOpus.Encode(new Sound(new float[OggOpus.FrameSamples], 1, OggOpus.SampleRate), 6_000, isConstant: true);
        var manifest = new ListeningManifest(
            ListeningManifest.Shape, library.Ways, keys.Min(r => r.Low), keys.Max(r => r.High), Convert.ToBase64String(probe.Bytes.Span),
            [SetOf(KeyboardCoding.Opus, opus), SetOf(KeyboardCoding.Wav, wav)]);
        return JsonSerializer.SerializeToUtf8Bytes(manifest, ListeningJson.Default.ListeningManifest);
    }

    private static ListeningManifest.Set SetOf(KeyboardCoding coding, KeyboardFiles files) =>
        new(coding.Type, coding.File, MarkOf(files.Bytes), files.Bytes.Length, files.Regions);

    /// <summary>What an address says of the file behind it, so that at one address there is one file for good.</summary>
    public static string MarkOf(ReadOnlySpan<byte> bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes).AsSpan(0, 8));
}

using LibraryShelf.Audio.Previews;

namespace LibraryShelf.Packaging.Listening;

/// <summary>How recordings of a playable set are written: as Ogg Opus, or for browsers without it as WAV.</summary>
internal abstract record KeyboardCoding(string Type, string File)
{
    /// <summary>Never less than what <see cref="Write"/> gives.</summary>
    public abstract int BytesOf(double seconds, bool isMono);

    /// <summary>The file, and what is heard of it.</summary>
    public abstract (ReadOnlyMemory<byte> Bytes, Sound Heard) Write(Sound sound);

    public static readonly KeyboardCoding Opus = new OpusCoding(), Wav = new WavCoding();

    /// <summary>At a constant rate: the size is known before anything is encoded.</summary>
    private sealed record OpusCoding() : KeyboardCoding("audio/ogg; codecs=opus", ListeningSet.OpusName)
    {
        private const int Mono = 48_000, Stereo = 80_000;

        public override int BytesOf(double seconds, bool isMono) => OggOpus.BytesOf(seconds, isMono ? Mono : Stereo);

        public override (ReadOnlyMemory<byte> Bytes, Sound Heard) Write(Sound sound)
        {
            var file = OggOpus.Encode(Resampler.Read(sound, 1, OggOpus.SampleRate), sound.Channels == 1 ? Mono : Stereo, isConstant: true);
            return (file.Bytes, file.Heard);
        }
    }

    /// <summary>One channel at 22,050 Hz: a small set for few browsers.</summary>
    private sealed record WavCoding() : KeyboardCoding("audio/wav", ListeningSet.WavName)
    {
        private const int Rate = 22_050;

        public override int BytesOf(double seconds, bool isMono) => WavFile.HeaderBytes + 2 * (int)Math.Ceiling(seconds * Rate + 2);

        public override (ReadOnlyMemory<byte> Bytes, Sound Heard) Write(Sound sound)
        {
            var small = Resampler.Read(sound.ToMono(), 1, Rate);
            return (WavFile.Write(small), small);
        }
    }
}

/// <summary>A playable set, written: its files one behind the other, and its regions.</summary>
internal sealed record KeyboardFiles(byte[] Bytes, IReadOnlyList<ListeningManifest.Region> Regions, double? TruePeakDbtp);

/// <summary>Chooses what of a library fits, and writes it.</summary>
internal sealed class KeyboardMaking(PlayedLibrary library, PlayedSounds sounds, KeyboardCoding coding, bool isPitched, int mostTakes)
{
    /// <summary>What a region takes in the manifest, about, bytes.</summary>
    private const int RegionBytes = 170;

    private readonly (Thinning Thinning, List<PlayedRegion> Regions)? chosen = Choose(library, sounds, coding, isPitched, mostTakes);

    /// <summary>What is in it; none when not even the least fits.</summary>
    public IReadOnlyList<PlayedRegion> Regions => chosen?.Regions ?? [];

    /// <param name="gain">dB.</param>
    /// <param name="written">Told of each region.</param>
    /// <param name="cancellationToken">Stops it between two.</param>
    public KeyboardFiles Write(double gain, Action written, CancellationToken cancellationToken)
    {
        using var bytes = new MemoryStream();
        var parts = new Dictionary<(string Sha256, long Offset, double Volume, double Seconds), (int At, int Bytes)>();
        var regions = new List<ListeningManifest.Region>();
        double? peak = null;
        foreach (var region in Regions)
        {
            cancellationToken.ThrowIfCancellationRequested();
            written();
            var most = chosen!.Value.Thinning.Seconds;
            var (seconds, isLooped) = sounds.LengthOf(region, most);
            var part = (region.Sha256, region.Offset, region.VolumeDb, seconds);
            if (!parts.TryGetValue(part, out var place))
            {
                if (sounds.Read(region, most) is not { } sound)
                    continue;
                var (file, heard) = coding.Write(PlayedSounds.Louder(sound, gain + region.VolumeDb));
                parts[part] = place = ((int)bytes.Length, file.Length);
                bytes.Write(file.Span);
                if (SoundLevels.Of([heard]).TruePeakDbtp is { } here && !(here < peak))
                    peak = here;
            }
            regions.Add(Entry(region, place, isLooped));
        }
        return new KeyboardFiles(bytes.ToArray(), regions, peak);
    }

    private ListeningManifest.Region Entry(PlayedRegion region, (int At, int Bytes) place, bool isLooped)
    {
        double rate = sounds.RateOf(region);
        return new ListeningManifest.Region(
            place.At, place.Bytes, region.Way, region.IsLift, region.LowKey, region.HighKey, region.LowVelocity, region.HighVelocity, region.Take, region.Centre,
            region.Cents, region.KeyTrack, region.VelocityTrack, Math.Round(region.ReleaseSeconds, 3), region.IsOneShot,
            isLooped && region.Loop is { } loop ? [Math.Round((loop.First - region.Offset) / rate, 6), Math.Round((loop.Last + 1 - region.Offset) / rate, 6)] : null);
    }

    private static (Thinning, List<PlayedRegion>)? Choose(PlayedLibrary library, PlayedSounds sounds, KeyboardCoding coding, bool isPitched, int mostTakes)
    {
        foreach (var thinning in Thinning.InOrder(library.Ways.Count, isPitched, mostTakes))
        {
            var regions = thinning.Of(library.Regions, isPitched);
            var files = regions.DistinctBy(r => (r.Sha256, r.Offset, r.VolumeDb, sounds.LengthOf(r, thinning.Seconds)));
            var bytes = files.Sum(r => (long)coding.BytesOf(sounds.LengthOf(r, thinning.Seconds).Seconds, sounds.IsMono(r.Sha256)));
            if (regions.Exists(r => !r.IsLift) && bytes + (long)regions.Count * RegionBytes <= ListeningSet.MostBytes)
                return (thinning, regions);
        }
        return null;
    }
}

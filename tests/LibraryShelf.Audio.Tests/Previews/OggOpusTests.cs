using System.Globalization;
using LibraryShelf.Audio.Previews;
using LibraryShelf.Audio.Tests.RealInput;
using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Previews;

/// <summary>Files are read back by ffmpeg and its ffprobe, which check pages, checksums and the trimming at both ends (RFC 7845 §4).</summary>
public sealed class OggOpusTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-opus-").FullName;

    [Theory]
    [InlineData(1, 48000)]
    [InlineData(2, 48000)]
    [InlineData(1, 1)]
    [InlineData(2, 647)]
    [InlineData(1, 648)]
    [InlineData(1, 649)]
    [InlineData(1, 960)]
    [InlineData(2, 123457)]
    public void Ffmpeg_reads_exactly_as_many_frames_as_went_in(int channels, int frames)
    {
        var file = OggOpus.Encode(Sounds.Of(InAll(channels, Sine(440, -12, (double)frames / Rate)), channels), 64000, isConstant: true);
        Assert.Equal(frames, file.Heard.Frames);
        var raw = Decode(Write(file), channels, out var said);
        Assert.Equal(frames * channels, raw.Length);
        Assert.DoesNotContain("CRC", said, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("error", said, StringComparison.OrdinalIgnoreCase);
    }

    [Fact]
    public void Ffprobe_knows_it_for_what_it_is()
    {
        var path = Write(OggOpus.Encode(Sounds.Of(InAll(2, Sine(440, -12, 2)), 2), 96000, isConstant: false));
        var answer = Path.Combine(folder, "answer");
        RealRecordings.Run("ffprobe", ["-v", "error", "-show_entries", "format=format_name,duration:stream=codec_name,sample_rate,channels", "-of", "default=nw=1", "-o", answer, path]);
        var said = File.ReadAllText(answer);
        Assert.Contains("format_name=ogg", said, StringComparison.Ordinal);
        Assert.Contains("codec_name=opus", said, StringComparison.Ordinal);
        Assert.Contains("sample_rate=48000", said, StringComparison.Ordinal);
        Assert.Contains("channels=2", said, StringComparison.Ordinal);
        var line = said.Split('\n').Single(l => l.StartsWith("duration=", StringComparison.Ordinal));
        // ffprobe counts what the decoder passes over at the start, 312 frames.
        Assert.Equal(2, double.Parse(line.AsSpan(9), CultureInfo.InvariantCulture), 0.0066);
    }

    /// <summary>The peer's decoder works in floating point, ours in whole numbers: they differ by about one step of 16 bits.</summary>
    [Fact]
    public void What_is_said_to_be_heard_is_what_ffmpeg_hears()
    {
        var file = OggOpus.Encode(Sounds.Of(Interleaved(Sine(440, -12, 1.3), Sine(660, -18, 1.3)), 2), 96000, isConstant: false);
        var peer = Decode(Write(file), 2, out _);
        var ours = file.Heard.Samples.ToArray();
        Assert.Equal(peer.Length, ours.Length);
        var error = Enumerable.Range(0, ours.Length).Average(i => Math.Pow(ours[i] - peer[i], 2));
        Assert.InRange(10 * Math.Log10(error), -400, -84);
    }

    /// <summary>Nothing is late or early: the tone stands in the same place, to the phase.</summary>
    [Fact]
    public void A_tone_comes_out_where_it_went_in()
    {
        var sound = Sounds.Of(Sine(1000, -12, 1));
        var heard = OggOpus.Encode(sound, 96000, isConstant: false).Heard.Samples.ToArray();
        var error = Enumerable.Range(4800, 38400).Average(i => Math.Pow(heard[i] - sound.Samples.Span[i], 2));
        // -15 dB is the tone's own power; Opus is no copy, but a shift of a single frame would leave more than this.
        Assert.InRange(10 * Math.Log10(error), -400, -15 - 25);
    }

    [Theory]
    [InlineData(1, 48000, 0.013)]
    [InlineData(1, 48000, 1.5)]
    [InlineData(2, 80000, 4)]
    [InlineData(2, 128000, 61)]
    public void At_a_constant_rate_the_size_is_known_beforehand(int channels, int bitrate, double seconds)
    {
        var file = OggOpus.Encode(Sounds.Of(InAll(channels, Noise(-12, seconds, 3)), channels), bitrate, isConstant: true);
        Assert.InRange(OggOpus.BytesOf(seconds, bitrate), file.Bytes.Length, file.Bytes.Length * 1.02 + 300);
    }

    [Fact]
    public void The_same_sound_gives_the_same_bytes()
    {
        var sound = Sounds.Of(InAll(2, Noise(-20, 0.7, 5)), 2);
        Assert.Equal(OggOpus.Encode(sound, 96000, isConstant: false).Bytes.ToArray(), OggOpus.Encode(sound, 96000, isConstant: false).Bytes.ToArray());
    }

    [Fact]
    public void Levels_are_those_that_ffmpeg_measures()
    {
        var made = Made(6, Rate, i => Math.Exp(-(i % 24000) / 6000.0) * 0.5 * Math.Sin(2 * Math.PI * 330 * i / Rate));
        var file = OggOpus.Encode(Sounds.Of(InAll(2, made), 2), 96000, isConstant: false);
        var (loudness, peak) = Sounds.AskFfmpeg(Write(file));
        var ours = SoundLevels.Of([file.Heard]);
        Assert.Equal(loudness, ours.LoudnessLufs!.Value, 0.11);
        Assert.Equal(peak, ours.TruePeakDbtp!.Value, 0.3);
    }

    [Fact]
    public void A_wav_holds_the_samples_rounded_to_16_bits()
    {
        var path = Path.Combine(folder, "x.wav");
        File.WriteAllBytes(path, WavFile.Write(Sounds.Of([0, 0.5, -1, 1, 1.5, 1 / 65536.0], rate: 22050)));
        using var stream = File.OpenRead(path);
        var read = SoundReading.Read(stream, 0, 1)!;
        Assert.Equal([0, 0.5f, -1, 32767 / 32768f, 32767 / 32768f, 0], read.Samples.ToArray());
        Assert.Equal((1, 22050), (read.Channels, read.SampleRate));
    }

    [Fact]
    public void A_recording_is_read_from_a_frame_on_and_no_further_than_asked()
    {
        using var stream = new MemoryStream(WavFile.Write(Sounds.Of(Interleaved(Sine(440, -6, 1), Sine(880, -6, 1)), 2)));
        var read = SoundReading.Read(stream, 480, 0.1)!;
        Assert.Equal(4800, read.Frames);
        Assert.Equal(0.501187 * Math.Sin(2 * Math.PI * 440 * 485 / Rate), read.Samples.Span[10], 1e-4);
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private string Write(OpusFile file)
    {
        var path = Path.Combine(folder, "x.opus");
        File.WriteAllBytes(path, file.Bytes.ToArray());
        return path;
    }

    private float[] Decode(string path, int channels, out string said)
    {
        var raw = Path.Combine(folder, "x.f32");
        said = RealRecordings.Run("ffmpeg", ["-nostdin", "-y", "-v", "warning", "-i", path, "-ac", $"{channels}", "-f", "f32le", raw]);
        return [.. File.ReadAllBytes(raw).Chunk(4).Select(b => BitConverter.ToSingle(b))];
    }
}

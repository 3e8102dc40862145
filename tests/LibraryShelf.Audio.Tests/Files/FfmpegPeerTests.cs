using System.Diagnostics;
using System.Globalization;

namespace LibraryShelf.Audio.Tests.Files;

/// <summary>
/// The independent peer: ffmpeg writes each kind of WAV and decodes it to raw doubles; ours must be equal to the bit. A missing
/// ffmpeg fails the test (`bash tests/run` installs it).
/// </summary>
public sealed class FfmpegPeerTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-audio-").FullName;

    [Theory]
    [InlineData("pcm_u8", 1, "pcm", 8, 1, "")]
    [InlineData("pcm_s16le", 2, "pcm", 16, 4097, "")]
    [InlineData("pcm_s24le", 1, "pcm", 24, 4095, "")]
    [InlineData("pcm_s24le", 6, "pcm", 24, 10000, "")] // WAVE_FORMAT_EXTENSIBLE
    [InlineData("pcm_s32le", 2, "pcm", 32, 4096, "")]
    [InlineData("pcm_f32le", 2, "float", 32, 10000, "")]
    [InlineData("pcm_f64le", 1, "float", 64, 5000, "")]
    [InlineData("pcm_s16le", 2, "pcm", 16, 5000, "-rf64 always")]
    [InlineData("pcm_s8", 2, "pcm", 8, 4097, "aiff")]
    [InlineData("pcm_s16be", 2, "pcm", 16, 4096, "aiff")]
    [InlineData("pcm_s24be", 1, "pcm", 24, 4095, "aiff")]
    [InlineData("pcm_s32be", 3, "pcm", 32, 5000, "aiff")]
    [InlineData("pcm_s16le", 1, "pcm", 16, 5000, "aiff")] // AIFF-C sowt
    [InlineData("pcm_f32be", 2, "float", 32, 5000, "aiff")]
    [InlineData("pcm_f64be", 2, "float", 64, 1, "aiff")]
    public void Samples_equal_those_of_ffmpeg(string codec, int channels, string coding, int bits, int frames, string more)
    {
        var isAiff = more == "aiff";
        more = isAiff ? "" : more;
        var wav = Path.Combine(folder, isAiff ? "x.aiff" : "x.wav");
        var noise = $"aevalsrc=exprs='{string.Join('|', Enumerable.Range(1, channels).Select(c => $"0.9*sin({c}+t*{c * 400})"))}':s=44100";
        Ffmpeg($"-f lavfi -i {noise} -af atrim=end_sample={frames} -c:a {codec} {more} {wav}");
        Ffmpeg($"-i {wav} -f f64le -c:a pcm_f64le {wav}.raw");
        var seen = new List<double>();
        using var stream = File.OpenRead(wav);
        var facts = RecordingReader.Read(stream, (block, _) => seen.AddRange(block));

        Assert.Equal((coding, bits, channels, 44100, (long)frames), (facts.Coding, facts.Bits, facts.Channels, facts.SampleRate, facts.Frames));
        Assert.Equal(isAiff ? "aiff" : more.Length > 0 ? "rf64" : "wav", facts.Container);
        Assert.Equal(RecordingTrouble.None, facts.Trouble);
        var peer = File.ReadAllBytes(wav + ".raw").Chunk(8).Select(b => BitConverter.ToDouble(b)).ToList();
        Assert.Equal(peer, seen);
        Assert.Equal(20 * Math.Log10(peer.Max(Math.Abs)), facts.SamplePeakDbfs!.Value, 9);
    }

    [Theory]
    [InlineData("x.flac", "flac")]
    [InlineData("x.ogg", "ogg")]
    public void Real_files_of_other_kinds_are_recognised(string name, string container)
    {
        var file = Path.Combine(folder, name);
        Ffmpeg($"-f lavfi -i sine=d=0.1 {(container == "ogg" ? "-c:a flac" : "")} {file}");
        using var stream = File.OpenRead(file);
        Assert.Equal((container, RecordingTrouble.NotRead), (RecordingReader.Read(stream) is var f ? f.Container : "", f.Trouble));
    }

    /// <summary>Nobody goes back in a pipe to fill in the sizes.</summary>
    [Theory]
    [InlineData("ffmpeg", "-v error -f lavfi -i sine=d=0.1 -f wav pipe:1")]
    [InlineData("ffmpeg", "-v error -f lavfi -i sine=d=0.1 -f aiff pipe:1")]
    [InlineData("sox", "-n -r 44100 -b 16 -t wav - synth 0.1 sine 440")]
    [InlineData("sox", "-n -r 44100 -b 16 -t aiff - synth 0.1 sine 440")]
    public void What_was_written_to_a_pipe_is_whole(string tool, string arguments)
    {
        var facts = RecordingReader.Read(new MemoryStream(Run(tool, arguments)));
        Assert.Equal((RecordingTrouble.None, 4410L), (facts.Trouble, facts.Frames));
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static byte[] Ffmpeg(string arguments) => Run("ffmpeg", string.Create(CultureInfo.InvariantCulture, $"-v error -y -nostdin {arguments}"));

    private static byte[] Run(string tool, string arguments)
    {
        var start = new ProcessStartInfo(tool, arguments) { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        using var process = Process.Start(start)!;
        using var output = new MemoryStream();
        process.StandardOutput.BaseStream.CopyTo(output);
        process.WaitForExit();
        Assert.Equal(0, process.ExitCode);
        return output.ToArray();
    }
}

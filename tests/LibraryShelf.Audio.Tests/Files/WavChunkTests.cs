using System.Text;

namespace LibraryShelf.Audio.Tests.Files;

public sealed class WavChunkTests
{
    /// <summary>Layout: Multimedia Programming Interface and Data Specifications 1.0 (1991), "Cue Points Chunk".</summary>
    [Fact]
    public void Cues_are_frames()
    {
        byte[] cue = [.. Little(2), .. Cue(1, 480), .. Cue(2, 96000)];
        Assert.Equal(4 + 2 * 24, cue.Length);
        Assert.Equal([480, 96000], WavBytes.Pcm(1, 48000, 16).Data16(1, 2).Chunk("cue ", cue).Read().Cues);
        // One is there, four billion are claimed.
        Assert.Equal([480], WavBytes.Pcm(1, 48000, 16).Chunk("cue ", [.. Little(uint.MaxValue), .. Cue(1, 480)]).Data16(1, 2).Read().Cues);
    }

    /// <summary>EBU Tech 3285: a description of 256 ASCII characters comes first.</summary>
    [Fact]
    public void The_description_of_a_broadcast_wave_is_read()
    {
        var bext = new byte[602];
        Encoding.ASCII.GetBytes("Felt piano,\r\nclose pair ").CopyTo(bext, 0);
        Assert.Equal("Felt piano,  close pair", WavBytes.Pcm(1, 48000, 16).Chunk("bext", bext).Data16(1, 2).Read().BextDescription);
        Array.Fill(bext, (byte)'x');
        Assert.Equal(new string('x', 256), WavBytes.Pcm(1, 48000, 16).Chunk("bext", bext).Data16(1, 2).Read().BextDescription);
        Assert.Equal("", WavBytes.Pcm(1, 48000, 16).Chunk("bext", []).Data16(1, 2).Read().BextDescription);
    }

    /// <summary>ITU-R BS.2088: BW64 is RIFF with ds64, and an axml or chna chunk that says nothing of samples.</summary>
    [Fact]
    public void BW64_is_read()
    {
        byte[] ds64 = [.. BitConverter.GetBytes(0L), .. BitConverter.GetBytes(4L), .. BitConverter.GetBytes(2L), .. BitConverter.GetBytes(0)];
        var file = new WavBytes().Chunk("ds64", ds64).Fmt(1, 1, 48000, 16).Chunk("chna", new byte[7]).Chunk("data", [0, 0x40, 0, 0], uint.MaxValue)
            .Chunk("axml", new byte[11]).File("BW64", uint.MaxValue);
        var facts = WavBytes.Read(file);
        Assert.Equal(("bw64", RecordingTrouble.None, 2L), (facts.Container, facts.Trouble, facts.Frames));
        Assert.Equal(-6.0206, facts.SamplePeakDbfs!.Value, 4);
    }

    /// <summary>The speaker mask of WAVE_FORMAT_EXTENSIBLE weighs loudness: 0x60F is 5.1 with side speakers, 0x63F 7.1.</summary>
    [Theory]
    [InlineData(6, 0x60F, 4, 1.41)]
    [InlineData(6, 0x3F, 4, 1.41)] // back speakers for want of side ones
    [InlineData(8, 0x63F, 4, 1)] // 7.1: back
    [InlineData(8, 0x63F, 6, 1.41)] // 7.1: side
    [InlineData(6, 0, 4, 1)] // nobody says where they stand: six microphones
    public void Speakers_weigh_loudness(int channels, uint mask, int channel, double weight)
    {
        var tone = Signals.Sine(1000, -20, 1);
        double LoudnessOf(int sounding) => Read(channels, mask, Signals.Interleaved(
            [.. Enumerable.Range(0, channels).Select(c => c == sounding ? tone : new double[tone.Length])])).LoudnessLufs!.Value;
        Assert.Equal(10 * Math.Log10(weight), LoudnessOf(channel) - LoudnessOf(0), 6);
    }

    [Fact]
    public void A_recording_that_was_never_finished_is_measured_and_told()
    {
        var facts = WavBytes.Read(WavBytes.Pcm(1, 48000, 16).Chunk("data", [0, 0x40, 0, 0], claimedSize: 0).File(claimedSize: 0));
        Assert.Equal((RecordingTrouble.CutShort, 2L), (facts.Trouble, facts.Frames));
        Assert.Contains("never finished", facts.TroubleWords, StringComparison.Ordinal);
        // Really empty: nothing follows, or RIFF's size is right.
        Assert.Equal(RecordingTrouble.Empty, WavBytes.Pcm(1, 48000, 16).Data16().Read().Trouble);
    }

    private static RecordingFacts Read(int channels, uint mask, double[] samples)
    {
        var fmt = new byte[40];
        Fmt(channels).CopyTo(fmt, 0);
        BitConverter.GetBytes((ushort)22).CopyTo(fmt, 16);
        BitConverter.GetBytes((ushort)32).CopyTo(fmt, 18);
        BitConverter.GetBytes(mask).CopyTo(fmt, 20);
        byte[] floats = [3, 0, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71]; // KSDATAFORMAT_SUBTYPE_IEEE_FLOAT
        floats.CopyTo(fmt, 24);
        return new WavBytes().Chunk("fmt ", fmt).DataFloat([.. samples.Select(s => (float)s)]).Read();
    }

    private static byte[] Fmt(int channels) =>
    [
        .. BitConverter.GetBytes((ushort)0xFFFE), .. BitConverter.GetBytes((ushort)channels), .. BitConverter.GetBytes(48000),
        .. BitConverter.GetBytes(48000 * 4 * channels), .. BitConverter.GetBytes((ushort)(4 * channels)), .. BitConverter.GetBytes((ushort)32),
    ];

    private static byte[] Cue(uint id, uint frame) => [.. Little(id), .. Little(0), .. "data"u8, .. Little(0), .. Little(0), .. Little(frame)];

    private static byte[] Little(uint value) => BitConverter.GetBytes(value);
}

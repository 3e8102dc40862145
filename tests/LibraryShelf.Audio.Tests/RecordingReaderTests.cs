using System.Text.Json;
using LibraryShelf.Audio.Files;
using LibraryShelf.Audio.Tests.Files;

namespace LibraryShelf.Audio.Tests;

public sealed class RecordingReaderTests
{
    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(SoundFile.BlockFrames - 1)]
    [InlineData(SoundFile.BlockFrames)]
    [InlineData(SoundFile.BlockFrames + 1)]
    public void Every_frame_comes_through_at_awkward_lengths(int frames)
    {
        var samples = new short[2 * frames];
        for (var i = 0; i < samples.Length; i++)
            samples[i] = (short)(i % 30000 - 15000);
        var seen = new List<double>();
        var facts = RecordingReader.Read(new MemoryStream(WavBytes.Pcm(2, 44100, 16).Data16(samples).File()), (block, _) => seen.AddRange(block));
        Assert.Equal(frames, facts.Frames);
        Assert.Equal(samples.Select(s => s / 32768.0), seen);
        Assert.Equal(frames == 0 ? RecordingTrouble.Empty : RecordingTrouble.None, facts.Trouble);
    }

    [Fact]
    public void Peak_is_relative_to_full_scale()
    {
        // −32768 / 2^15 = −1: 0 dBFS. 16384 / 2^15 = 0.5: 20·log10(0.5) = −6.0206 dB.
        Assert.Equal(0, WavBytes.Pcm(1, 44100, 16).Data16(0, -32768, 0).Read().SamplePeakDbfs!.Value, 9);
        Assert.Equal(-6.0206, WavBytes.Pcm(1, 44100, 16).Data16(0, 16384, -1).Read().SamplePeakDbfs!.Value, 4);
    }

    [Fact]
    public void Silence_has_no_peak()
    {
        var facts = WavBytes.Pcm(1, 44100, 16).Data16(0, 0, 0, 0).Read();
        Assert.True(facts.Silent);
        Assert.Null(facts.SamplePeakDbfs);
        Assert.False(WavBytes.Pcm(1, 44100, 16).Data16(0, 0, 1, 0).Read().Silent);
    }

    [Theory]
    [InlineData(0, new short[] { 0, 32767, 32767, 0 })]
    [InlineData(1, new short[] { 32767, 32767, 32767 })]
    [InlineData(1, new short[] { 0, -32768, -32767, -32768, -32768, 0 })]
    [InlineData(2, new short[] { 32767, 32767, 32767, 0, 32767, 32767, 32767 })]
    [InlineData(0, new short[] { 32766, 32766, 32766, 32766 })]
    public void Three_samples_at_full_scale_are_one_clipped_run(int runs, short[] samples) =>
        Assert.Equal(runs, WavBytes.Pcm(1, 44100, 16).Data16(samples).Read().ClippedRuns);

    [Fact]
    public void Clipping_is_seen_per_channel_and_across_blocks()
    {
        // Interleaved: left is clipped three times, right never; a mono reading of the row would see no run.
        Assert.Equal(1, WavBytes.Pcm(2, 44100, 16).Data16(32767, 0, 32767, 0, 32767, 0).Read().ClippedRuns);
        var samples = new short[SoundFile.BlockFrames + 10];
        samples.AsSpan(SoundFile.BlockFrames - 2, 4).Fill(short.MaxValue);
        Assert.Equal(1, WavBytes.Pcm(1, 44100, 16).Data16(samples).Read().ClippedRuns);
    }

    [Fact]
    public void Samples_that_are_no_numbers_are_told_and_leave_the_peak_alone()
    {
        var facts = new WavBytes().Fmt(3, 1, 48000, 32).DataFloat(0.5f, float.NaN, float.PositiveInfinity, -0.25f).Read();
        Assert.True(facts.HasNonFinite);
        Assert.Equal(-6.0206, facts.SamplePeakDbfs!.Value, 4);
        Assert.Equal(0, facts.ClippedRuns);
        Assert.False(facts.Silent);
    }

    [Fact]
    public void Float_may_go_beyond_full_scale()
    {
        var facts = new WavBytes().Fmt(3, 1, 48000, 32).DataFloat(2f, 2f, -2f, 0f).Read();
        Assert.Equal(6.0206, facts.SamplePeakDbfs!.Value, 4);
        Assert.Equal(1, facts.ClippedRuns);
    }

    [Fact]
    public void A_file_cut_in_its_samples_is_told_and_the_rest_measured()
    {
        var whole = WavBytes.Pcm(1, 44100, 16).Data16(1, 2, 3, 4).File();
        var facts = WavBytes.Read(whole[..^3]);
        Assert.Equal(RecordingTrouble.CutShort, facts.Trouble);
        Assert.Equal(2, facts.Frames);
    }

    [Fact]
    public void Every_cut_of_a_file_ends_in_facts_never_in_an_exception()
    {
        var whole = WavBytes.Pcm(2, 44100, 24).Chunk("LIST", new byte[5]).Chunk("data", new byte[60]).Chunk("smpl", new byte[60]).File();
        Assert.Equal(RecordingTrouble.None, WavBytes.Read(whole).Trouble);
        for (var length = 0; length < whole.Length; length++)
            Assert.NotEqual(RecordingTrouble.None, WavBytes.Read(whole[..length]).Trouble);
    }

    [Fact]
    public void Random_damage_ends_in_facts()
    {
        var random = new Random(20261125);
        var whole = WavBytes.Pcm(2, 44100, 16).Data16(1, 2, 3, 4).Chunk("smpl", new byte[60]).File();
        for (var round = 0; round < 5000; round++)
        {
            var damaged = (byte[])whole.Clone();
            for (var i = 0; i < 4; i++)
                damaged[random.Next(damaged.Length)] = (byte)random.Next(256);
            var facts = WavBytes.Read(damaged);
            Assert.True(facts.Frames <= whole.Length);
        }
    }

    [Fact]
    public void A_size_field_from_a_pipe_means_until_the_end()
    {
        var file = WavBytes.Pcm(1, 44100, 16).Chunk("data", [1, 0, 2, 0], claimedSize: uint.MaxValue).File(claimedSize: uint.MaxValue);
        var facts = WavBytes.Read(file);
        Assert.Equal((RecordingTrouble.None, 2L), (facts.Trouble, facts.Frames));
    }

    [Fact]
    public void RF64_takes_the_size_from_ds64_and_reads_what_follows()
    {
        // EBU Tech 3306: ds64 holds riffSize, dataSize, sampleCount, table length.
        byte[] ds64 = [.. BitConverter.GetBytes(0L), .. BitConverter.GetBytes(4L), .. BitConverter.GetBytes(2L), .. BitConverter.GetBytes(0)];
        var wav = new WavBytes().Chunk("ds64", ds64).Fmt(1, 1, 44100, 16)
            .Chunk("data", [1, 0, 2, 0], claimedSize: uint.MaxValue).Chunk("smpl", Smpl(57, 0));
        var facts = WavBytes.Read(wav.File("RF64", uint.MaxValue));
        Assert.Equal(("rf64", RecordingTrouble.None, 2L, 57), (facts.Container, facts.Trouble, facts.Frames, facts.SmplNote));
    }

    [Fact]
    public void Odd_chunks_are_padded_and_a_missing_last_pad_is_forgiven()
    {
        var file = WavBytes.Pcm(1, 8000, 8).Chunk("LIST", new byte[3]).Chunk("data", [128, 0, 255]).File();
        foreach (var bytes in new[] { file, file[..^1] })
        {
            var facts = WavBytes.Read(bytes);
            Assert.Equal((RecordingTrouble.None, 3L), (facts.Trouble, facts.Frames));
            Assert.Equal(0, facts.SamplePeakDbfs!.Value, 9); // 0 is −128/128
        }
    }

    [Fact]
    public void Smpl_gives_note_cents_and_inclusive_loop()
    {
        // "New Multimedia Data Types and Data Techniques" (Microsoft, 15 Apr 1994): fraction 0x80000000 is 50 cents up; the end is
        // played too, so 1000..1999 lasts 1000 frames; one loop makes a chunk of 60 bytes.
        var smpl = Smpl(60, 0x80000000, (0, 1000, 1999, 0));
        Assert.Equal(60, smpl.Length);
        var facts = WavBytes.Pcm(1, 44100, 16).Data16(new short[2000]).Chunk("smpl", smpl).Read();
        Assert.Equal(60, facts.SmplNote);
        Assert.Equal(50, facts.SmplCents, 6);
        Assert.Equal(new LoopPoints(1000, 1999, LoopKind.Forward, 0), Assert.Single(facts.Loops));
    }

    [Fact]
    public void Smpl_that_claims_more_loops_than_it_holds_is_not_believed()
    {
        var smpl = Smpl(60, 0, (2, 5, 9, 3));
        BitConverter.GetBytes(uint.MaxValue).CopyTo(smpl, 28);
        var facts = WavBytes.Pcm(1, 44100, 16).Data16(new short[20]).Chunk("smpl", smpl).Read();
        Assert.Equal(new LoopPoints(5, 9, LoopKind.Backward, 3), Assert.Single(facts.Loops));
    }

    [Fact]
    public void Inst_gives_its_note()
    {
        var facts = WavBytes.Pcm(1, 44100, 16).Data16(1).Chunk("inst", [64, 0, 0, 0, 127, 1, 127]).Read();
        Assert.Equal(64, facts.InstNote);
    }

    [Theory]
    [InlineData("fLaC\0\0\0\"        ", "flac")]
    [InlineData("OggS            ", "ogg")]
    [InlineData("RIFX....WAVE", "rifx")]
    [InlineData("ID3.............", "mp3")]
    public void Other_kinds_are_recognised_and_not_read(string start, string container)
    {
        var facts = RecordingReader.Read(new MemoryStream(System.Text.Encoding.Latin1.GetBytes(start)));
        Assert.Equal((container, RecordingTrouble.NotRead), (facts.Container, facts.Trouble));
    }

    [Theory]
    [InlineData(new byte[0])]
    [InlineData(new byte[] { 1, 2, 3 })]
    public void What_is_no_recording_is_told(byte[] bytes) => Assert.Equal(RecordingTrouble.NotARecording, WavBytes.Read(bytes).Trouble);

    [Theory]
    [InlineData(2, RecordingTrouble.NotRead)] // ADPCM
    [InlineData(1, RecordingTrouble.None)]
    public void Other_codings_inside_WAV_are_not_read(int tag, RecordingTrouble expected) =>
        Assert.Equal(expected, new WavBytes().Fmt(tag, 1, 44100, 16).Data16(1).Read().Trouble);

    [Fact]
    public void Samples_before_their_format_and_no_samples_at_all_are_broken()
    {
        Assert.Equal(RecordingTrouble.Broken, new WavBytes().Data16(1).Fmt(1, 1, 44100, 16).Read().Trouble);
        Assert.Equal(RecordingTrouble.Broken, WavBytes.Pcm(1, 44100, 16).Read().Trouble);
        Assert.Equal(RecordingTrouble.Broken, WavBytes.Pcm(0, 44100, 16).Data16(1).Read().Trouble);
    }

    [Fact]
    public void Facts_survive_JSON()
    {
        var facts = WavBytes.Pcm(1, 44100, 16).Data16(1, 2, 3).Chunk("smpl", Smpl(60, 0, (1, 0, 2, 0))).Read();
        var back = JsonSerializer.Deserialize<RecordingFacts>(JsonSerializer.Serialize(facts))!;
        Assert.Equal(JsonSerializer.Serialize(facts), JsonSerializer.Serialize(back));
        Assert.Equal(facts.Loops, back.Loops);
        Assert.Equal(facts.DcOffset, back.DcOffset);
        Assert.NotNull(JsonSerializer.Serialize(WavBytes.Read([1])));
    }

    private static byte[] Smpl(uint note, uint fraction, params (uint Kind, uint Start, uint End, uint Plays)[] loops) =>
    [
        .. new uint[] { 0, 0, 22676, note, fraction, 0, 0, (uint)loops.Length, 0 }
            .Concat(loops.SelectMany(l => new[] { 0u, l.Kind, l.Start, l.End, 0u, l.Plays }))
            .SelectMany(BitConverter.GetBytes),
    ];
}

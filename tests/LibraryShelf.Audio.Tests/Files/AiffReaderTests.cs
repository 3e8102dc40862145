namespace LibraryShelf.Audio.Tests.Files;

/// <summary>Sources: "Audio Interchange File Format: AIFF" (Apple, 1989) and AIFF-C (Apple, draft of 26 August 1991).</summary>
public sealed class AiffReaderTests
{
    [Fact]
    public void A_rate_is_an_80_bit_number()
    {
        // 44100 as the 1989 text's own files have it: exponent 0x400E, mantissa 0xAC44 and zeros.
        var file = new AiffBytes().Comm(1, 2, 16, 44100).Sound([0x40, 0, 0, 0]).File();
        Assert.Equal([0x40, 0x0E, 0xAC, 0x44, 0, 0, 0, 0, 0, 0], file[28..38]);
        var facts = AiffBytes.Read(file);
        Assert.Equal(("aiff", "pcm", 44100, 16, 1, 2L), (facts.Container, facts.Coding, facts.SampleRate, facts.Bits, facts.Channels, facts.Frames));
        Assert.Equal(RecordingTrouble.None, facts.Trouble);
        Assert.Equal(-6.0206, facts.SamplePeakDbfs!.Value, 4);
    }

    [Theory]
    [InlineData("NONE", 16, new byte[] { 0x40, 0x00 })]
    [InlineData("twos", 16, new byte[] { 0x40, 0x00 })]
    [InlineData("sowt", 16, new byte[] { 0x00, 0x40 })]
    [InlineData("raw ", 8, new byte[] { 0xC0 })]
    [InlineData("NONE", 8, new byte[] { 0xC0 })]
    [InlineData("in24", 24, new byte[] { 0x40, 0, 0 })]
    [InlineData("fl32", 32, new byte[] { 0x3F, 0, 0, 0 })]
    [InlineData("FL64", 64, new byte[] { 0x3F, 0xE0, 0, 0, 0, 0, 0, 0 })]
    public void Half_of_full_scale_in_each_coding(string kind, int bits, byte[] sample)
    {
        var facts = new AiffBytes().Comm(1, 1, bits, 48000, kind).Sound(sample).Read();
        Assert.Equal((RecordingTrouble.None, 1L, bits), (facts.Trouble, facts.Frames, facts.Bits));
        Assert.Equal(-6.0206, facts.SamplePeakDbfs!.Value, 4);
        Assert.Equal(kind[0] is 'f' or 'F' ? "float" : "pcm", facts.Coding);
    }

    [Fact]
    public void Frames_begin_behind_the_offset_and_odd_chunks_are_padded()
    {
        var facts = new AiffBytes().Chunk("NAME", new byte[3]).Comm(1, 1, 24, 48000).Sound([0x40, 0, 0], offset: 6).Chunk("ANNO", [1]).Read();
        Assert.Equal((RecordingTrouble.None, 1L), (facts.Trouble, facts.Frames));
        Assert.Equal(-6.0206, facts.SamplePeakDbfs!.Value, 4);
    }

    [Fact]
    public void Marks_are_cues_and_make_the_loop_whose_end_is_before_its_mark()
    {
        // Two marks: 1 at 10 ("a", padded to even with its length), 2 at 20 ("to", three bytes and a pad).
        byte[] mark = [0, 2, 0, 1, .. AiffBytes.Big(10), 1, (byte)'a', 0, 2, .. AiffBytes.Big(20), 2, (byte)'t', (byte)'o', 0];
        byte[] inst = [57, 0, 0, 127, 1, 127, 0, 0, 0, 1, 0, 1, 0, 2, 0, 0, 0, 0, 0, 0];
        var facts = new AiffBytes().Comm(1, 30, 16, 44100).Chunk("MARK", mark).Chunk("INST", inst).Sound(new byte[60]).Read();
        Assert.Equal([10, 20], facts.Cues);
        Assert.Equal(57, facts.InstNote);
        Assert.Equal(new LoopPoints(10, 19, LoopKind.Forward, 0), Assert.Single(facts.Loops));
    }

    [Fact]
    public void Other_codings_and_a_late_format_are_kept_unread()
    {
        Assert.Equal(RecordingTrouble.NotRead, new AiffBytes().Comm(2, 64, 16, 44100, "ima4").Sound(new byte[68]).Read().Trouble);
        Assert.Equal(RecordingTrouble.NotRead, new AiffBytes().Sound([0, 0]).Comm(1, 1, 16, 44100).Read().Trouble);
    }

    [Fact]
    public void No_frame_needs_no_sound_chunk_and_is_empty()
    {
        Assert.Equal(RecordingTrouble.Empty, new AiffBytes().Comm(1, 0, 16, 44100).Read().Trouble);
        Assert.Equal(RecordingTrouble.Empty, new AiffBytes().Comm(1, 0, 16, 44100).Sound([]).Read().Trouble);
        Assert.Equal(RecordingTrouble.Broken, new AiffBytes().Comm(1, 5, 16, 44100).Read().Trouble);
    }

    [Fact]
    public void Claims_of_more_than_there_is_are_told()
    {
        Assert.Equal(RecordingTrouble.CutShort, new AiffBytes().Comm(1, 9, 16, 44100).Sound(new byte[4]).Read().Trouble);
        var facts = new AiffBytes().Comm(1, 2, 16, 44100).Sound([0x40, 0], claimedSize: 5000).Read();
        Assert.Equal((RecordingTrouble.CutShort, 1L), (facts.Trouble, facts.Frames));
    }

    [Fact]
    public void Every_cut_ends_in_facts_and_is_told()
    {
        var whole = new AiffBytes().Comm(2, 10, 24, 44100).Chunk("MARK", new byte[40]).Sound(new byte[60]).Chunk("INST", new byte[20]).File();
        Assert.Equal(RecordingTrouble.None, AiffBytes.Read(whole).Trouble);
        for (var length = 0; length < whole.Length; length++)
            Assert.NotEqual(RecordingTrouble.None, AiffBytes.Read(whole[..length]).Trouble);
    }
}

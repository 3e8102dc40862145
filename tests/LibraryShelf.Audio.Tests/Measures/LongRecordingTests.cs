using LibraryShelf.Audio.Tests.Files;

namespace LibraryShelf.Audio.Tests.Measures;

/// <summary>Two hours as a stream that is made while it is read: nothing may be kept in proportion to it.</summary>
public sealed class LongRecordingTests
{
    private const int Rate = 8000, Seconds = 7200;

    [Fact]
    public void Two_hours_are_measured_in_little_memory()
    {
        var allocatedBefore = GC.GetAllocatedBytesForCurrentThread();
        using var stream = new MadeStream(WavBytes.Pcm(1, Rate, 16).File()[..36], 2L * Rate * Seconds);
        var facts = RecordingReader.Read(stream);
        // Everything it ever allocated, not only what lived at once: ten numbers a second of loudness are 0.6 MB, twice that while the list grows.
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - allocatedBefore, 0, 20_000_000);

        Assert.Equal((RecordingTrouble.None, (long)Rate * Seconds), (facts.Trouble, facts.Frames));
        Assert.Equal(2 * RecordingFacts.OutlineColumns, Convert.FromBase64String(facts.Outline).Length);
        Assert.NotNull(facts.LoudnessLufs);
        // A tone in the first hour and none in the second; half of full scale.
        Assert.Equal(-6.02, facts.SamplePeakDbfs!.Value, 0.01);
        Assert.Equal(3600_000, facts.AttackMs!.Value + facts.Decay20Ms!.Value, 1000.0);
        Assert.Null(facts.TailDbfs);
    }

    /// <summary>A header, then 16-bit samples: a square wave of 100 Hz for half of the time, then zeros.</summary>
    private sealed class MadeStream(byte[] header, long dataBytes) : Stream
    {
        private readonly byte[] head = [.. header, .. "data"u8, .. BitConverter.GetBytes((uint)dataBytes)];
        private long at;

        public override int Read(Span<byte> buffer)
        {
            var i = 0;
            for (; i < buffer.Length && at < head.Length + dataBytes; i++, at++)
                buffer[i] = at < head.Length ? head[at] : ByteAt(at - head.Length);
            return i;
        }

        private byte ByteAt(long place) =>
            place >= dataBytes / 2 || place % 2 == 0 ? (byte)0 : place / 2 / 40 % 2 == 0 ? (byte)0x40 : (byte)0xC0;

        public override int Read(byte[] buffer, int offset, int count) => Read(buffer.AsSpan(offset, count));
        public override bool CanRead => true;
        public override bool CanSeek => false;
        public override bool CanWrite => false;
        public override long Length => throw new NotSupportedException();
        public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }
        public override void Flush() { }
        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();
        public override void SetLength(long value) => throw new NotSupportedException();
        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}

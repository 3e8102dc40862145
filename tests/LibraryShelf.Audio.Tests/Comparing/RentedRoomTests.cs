using LibraryShelf.Audio.Comparing;

namespace LibraryShelf.Audio.Tests.Comparing;

/// <summary>Comparing rents its room: what one comparison left there must not be heard in the next, and the next must not ask for as much again.</summary>
public sealed class RentedRoomTests
{
    private const int Rate = 44100, Second = Rate;

    private static byte[] NoiseOf(int seed, int frames, int leaveOut = 0)
    {
        var random = new Random(seed);
        long[] all = [.. Enumerable.Range(0, leaveOut + frames).Select(_ => (long)random.Next(-4_000_000, 4_000_000))];
        return WavFile.Whole(all[leaveOut..], 24, 1, Rate);
    }

    private static RecordingLikeness Compare(byte[] old, byte[] next) =>
        RecordingComparer.Compare(() => new MemoryStream(old), () => new MemoryStream(next));

    [Fact]
    public void What_a_longer_recording_left_is_not_heard_in_a_shorter_one()
    {
        var (other, another) = (NoiseOf(1, 6 * Second), NoiseOf(2, 6 * Second));
        for (var cut = 1_000; cut < 12_000; cut += 3_333)
        {
            Assert.Equal(LikenessKind.Other, Compare(other, another).Kind);
            var trimmed = Compare(NoiseOf(3, 30_000), NoiseOf(3, 30_000 - cut, leaveOut: cut));
            Assert.Equal((LikenessKind.Trimmed, cut), (trimmed.Kind, (int)trimmed.CutHead));
            Assert.Equal(LikenessKind.Other, Compare(NoiseOf(1, 20_000), NoiseOf(2, 20_000)).Kind);
        }
    }

    [Fact]
    public void Several_comparisons_at_once_with_one_recording_do_not_take_its_room_from_each_other()
    {
        var old = NoiseOf(6, 40_000);
        // Of lengths that want transforms of several sizes.
        (byte[] Next, LikenessKind Kind)[] others =
        [
            (NoiseOf(6, 35_000, leaveOut: 5_000), LikenessKind.Trimmed), (NoiseOf(7, 4_000), LikenessKind.Other), (NoiseOf(8, 90_000), LikenessKind.Other),
            (NoiseOf(6, 39_000, leaveOut: 1_000), LikenessKind.Trimmed), (NoiseOf(9, 200_000), LikenessKind.Other),
        ];
        for (var times = 0; times < 8; times++)
        {
            using var heard = new HeardRecording(() => new MemoryStream(old));
            var found = new LikenessKind[3 * others.Length];
            Parallel.For(0, found.Length, new ParallelOptions { MaxDegreeOfParallelism = 8 }, i =>
            {
                using var next = new HeardRecording(() => new MemoryStream(others[i % others.Length].Next));
                found[i] = RecordingComparer.Compare(heard, next, CancellationToken.None).Kind;
            });
            Assert.Equal(Enumerable.Range(0, found.Length).Select(i => others[i % others.Length].Kind), found);
        }
    }

    [Fact]
    public void The_next_comparison_does_not_ask_for_megabytes()
    {
        var (old, next) = (NoiseOf(4, 6 * Second), NoiseOf(5, 6 * Second));
        var openings = 2 * sizeof(float) * (long)Opening.MostFrames * 2 / 3;
        // Room that nobody asks for is given up after a while, so now and then one has to ask for it.
        Assert.Contains(Enumerable.Range(0, 20).Select(_ => AllocatedBy(() => Compare(old, next))), bytes => bytes < openings);
    }

    private static long AllocatedBy(Action work)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        work();
        return GC.GetAllocatedBytesForCurrentThread() - before;
    }
}

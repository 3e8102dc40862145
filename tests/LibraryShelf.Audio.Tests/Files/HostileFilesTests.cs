using System.Buffers.Binary;
using System.Diagnostics;
using System.Text.Json;

namespace LibraryShelf.Audio.Tests.Files;

/// <summary>Seeded damage to the headers of whole files: facts, never an exception, never a wait, never a number that JSON refuses.</summary>
public sealed class HostileFilesTests
{
    private static readonly uint[] Sizes = [0, 1, 2, 7, 8, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFE, uint.MaxValue];

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    public void Damaged_headers_end_in_facts(int seed)
    {
        var random = new Random(seed);
        var begun = Stopwatch.GetTimestamp();
        foreach (var whole in WholeFiles())
        {
            Assert.Equal(RecordingTrouble.None, WavBytes.Read(whole).Trouble);
            for (var round = 0; round < 700; round++)
            {
                var facts = WavBytes.Read(Damaged(whole, random));
                Assert.True(facts.Frames <= whole.Length);
                Assert.NotEmpty(JsonSerializer.Serialize(facts));
            }
        }
        // About a second on an idle machine; a size field that is believed would read or allocate gigabytes.
        Assert.True(Stopwatch.GetElapsedTime(begun) < TimeSpan.FromMinutes(2));
    }

    [Fact]
    public void A_million_empty_chunks_are_walked_past()
    {
        var wav = WavBytes.Pcm(1, 48000, 16).File();
        var chunks = new byte[8 * 1_000_000];
        for (var i = 0; i < chunks.Length; i += 8)
            "junk"u8.CopyTo(chunks.AsSpan(i));
        Assert.Equal(RecordingTrouble.Broken, WavBytes.Read([.. wav, .. chunks]).Trouble);
    }

    private static byte[] Damaged(byte[] whole, Random random)
    {
        var file = (byte[])whole.Clone();
        for (var damage = random.Next(1, 5); damage > 0; damage--)
        {
            var at = random.Next(Math.Min(file.Length, 400) - 4);
            switch (random.Next(3))
            {
                case 0:
                    file[at] = (byte)random.Next(256);
                    break;
                case 1:
                    BinaryPrimitives.WriteUInt32LittleEndian(file.AsSpan(at), Sizes[random.Next(Sizes.Length)]);
                    break;
                default:
                    BinaryPrimitives.WriteUInt32BigEndian(file.AsSpan(at), Sizes[random.Next(Sizes.Length)]);
                    break;
            }
        }
        return random.Next(4) == 0 ? file[..random.Next(file.Length)] : file;
    }

    private static IEnumerable<byte[]> WholeFiles()
    {
        var noise = new byte[600];
        new Random(99).NextBytes(noise);
        yield return WavBytes.Pcm(2, 44100, 16).Chunk("bext", new byte[30]).Chunk("cue ", new byte[52]).Chunk("smpl", new byte[84]).Chunk("inst", new byte[7])
            .Chunk("data", noise).File();
        yield return new WavBytes().Fmt(3, 1, 48000, 32).Chunk("data", new byte[600]).Chunk("smpl", new byte[60]).File();
        yield return new WavBytes().Fmt(3, 3, 8, 64).Chunk("data", new byte[480]).File();
        byte[] ds64 = [.. new byte[8], .. BitConverter.GetBytes(600L), .. new byte[12]];
        yield return new WavBytes().Chunk("ds64", ds64).Fmt(1, 4, 96000, 24).Chunk("data", noise, uint.MaxValue).File("RF64", uint.MaxValue);
        yield return new AiffBytes().Comm(2, 100, 24, 44100).Chunk("MARK", new byte[50]).Chunk("INST", new byte[20]).Sound(noise).File();
        yield return new AiffBytes().Comm(1, 150, 32, 48000, "fl32").Sound(new byte[600], offset: 8).File();
    }
}

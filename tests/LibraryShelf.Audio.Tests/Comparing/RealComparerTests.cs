using LibraryShelf.Audio.Comparing;
using LibraryShelf.Audio.Tests.RealInput;

namespace LibraryShelf.Audio.Tests.Comparing;

/// <summary>A real piano's notes, worked on by ffmpeg's own filters: an edit that somebody else's program made is told for what it is.</summary>
public sealed class RealComparerTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("comparer").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    public static TheoryData<string, LikenessKind, double, long, bool> Edits() => new()
    {
        { "volume=-3dB", LikenessKind.Level, -3, 0, false },
        { "volume=0.5", LikenessKind.Level, -6.0206, 0, false },
        { "volume=1.25dB", LikenessKind.Level, 1.25, 0, false },
        { "atrim=start_sample=333", LikenessKind.Trimmed, 0, 333, false },
        { "atrim=start_sample=20000,volume=-1dB", LikenessKind.Trimmed, -1, 20000, false },
        { "afade=t=in:ns=2000", LikenessKind.Trimmed, 0, 0, false },
        { "afade=t=out:ss=40000:ns=30000:curve=qsin", LikenessKind.Trimmed, 0, 0, true },
        { "lowpass=f=8000", LikenessKind.Other, 0, 0, false },
        { "atempo=1.01", LikenessKind.Other, 0, 0, false },
        { "anull", LikenessKind.Same, 0, 0, false },
    };

    [Theory, MemberData(nameof(Edits))]
    public void An_edit_by_another_program_is_told(string filter, LikenessKind kind, double gainDb, long cutHead, bool fadedOut)
    {
        foreach (var note in RealRecordings.Piano.Where((_, i) => i % 6 == 0))
        {
            var (old, next) = (Path.Combine(folder, "old.wav"), Path.Combine(folder, "new.wav"));
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", note, "-c:a", "pcm_s24le", old]);
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", old, "-af", filter, "-c:a", "pcm_s24le", next]);
            var found = RecordingComparer.Compare(() => File.OpenRead(old), () => File.OpenRead(next));
            Assert.Equal((Path.GetFileName(note), kind, cutHead, fadedOut), (Path.GetFileName(note), found.Kind, found.CutHead, found.IsFadedOut));
            Assert.InRange(found.GainDb, gainDb - 0.002, gainDb + 0.002);
        }
    }

    [Theory]
    [InlineData("atrim=start_sample=300000,volume=-1dB", 300_000)]
    [InlineData("adelay=delays=400123S:all=1,volume=-1dB", -400_123)]
    public void A_cut_beyond_the_opening_is_told_too(string filter, long cutHead)
    {
        // Two low notes, long enough to be cut so.
        foreach (var note in RealRecordings.Piano.Where((_, i) => i is 0 or 6))
        {
            var (old, next) = (Path.Combine(folder, "old.wav"), Path.Combine(folder, "new.wav"));
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", note, "-c:a", "pcm_s24le", old]);
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", old, "-af", filter, "-c:a", "pcm_s24le", next]);
            var found = RecordingComparer.Compare(() => File.OpenRead(old), () => File.OpenRead(next));
            Assert.Equal((Path.GetFileName(note), LikenessKind.Trimmed, cutHead), (Path.GetFileName(note), found.Kind, found.CutHead));
            Assert.InRange(found.GainDb, -1.002, -0.998);
        }
    }

    [Fact]
    public void No_two_notes_of_the_piano_and_no_two_shots_of_a_drum_are_one_recording()
    {
        var shots = RealRecordings.OneShots.Where(s => Path.GetFileName(s).StartsWith("drum_", StringComparison.Ordinal)).Take(8).ToList();
        Assert.True(shots.Count == 8, $"{shots.Count} shots");
        List<string> all = [];
        foreach (var source in RealRecordings.Piano.Take(4).Concat(shots))
        {
            var wav = Path.Combine(folder, $"{all.Count}.wav");
            RealRecordings.Run("ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", source, "-ar", "44100", "-ac", "1", "-c:a", "pcm_s16le", wav]);
            all.Add(wav);
        }
        foreach (var a in all)
            foreach (var b in all.Where(b => b != a))
                Assert.Equal((a, b, LikenessKind.Other), (a, b, RecordingComparer.Compare(() => File.OpenRead(a), () => File.OpenRead(b)).Kind));
    }
}

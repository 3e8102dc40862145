using System.Buffers.Binary;
using LibraryShelf.Web.Setup.Demo.Folders;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Tests.Setup.Demo.Folders;

public sealed class RecordingBytesTests
{
    private static readonly ShopRecipe Shop = SeedReader.Read(SeedReader.DefaultFolder);

    [Fact]
    public void Only_the_planted_recordings_reach_full_scale()
    {
        foreach (var library in Shop.Libraries)
        {
            var recordings = library.Versions.SelectMany(v => FolderPlan.Of(library, v)).Select(f => f.Recording).OfType<PlannedRecording>();
            foreach (var recording in recordings.Distinct().Where((_, i) => i % 7 == 0))
                Assert.True(recording.Fault is not null || Peak(recording) < 0.9, $"{recording.Sound.Seed} peaks at {Peak(recording)}.");
        }
        Assert.Equal(1, Peak(Planted(FaultKind.Clipped)));
        Assert.Equal(0, Peak(Planted(FaultKind.Silent)));
    }

    [Fact]
    public void A_recording_cut_short_promises_more_than_it_holds()
    {
        var file = RecordingBytes.Of(Planted(FaultKind.CutShort));
        Assert.True(BinaryPrimitives.ReadInt32LittleEndian(file.AsSpan(4)) + 8 > 2 * file.Length);
    }

    [Fact]
    public void The_other_rate_is_44100()
    {
        var file = RecordingBytes.Of(Planted(FaultKind.OtherRate));
        Assert.Equal(44_100, BinaryPrimitives.ReadInt32LittleEndian(file.AsSpan(24)));
    }

    private static PlannedRecording Planted(FaultKind kind)
    {
        var library = Shop.Libraries.Single(l => l.Slug == "sluice-gate-bass");
        return FolderPlan.Of(library, library.Versions[^1]).First(f => f.Recording?.Fault == kind).Recording!;
    }

    /// <summary>Largest sample of the data chunk, 1 = full scale.</summary>
    private static double Peak(PlannedRecording recording)
    {
        var file = RecordingBytes.Of(recording);
        var data = file.AsSpan().IndexOf("data"u8) + 8;
        var peak = 0;
        for (var at = data; at + 3 <= file.Length; at += 3)
            peak = Math.Max(peak, Math.Abs(file[at] | (file[at + 1] << 8) | ((sbyte)file[at + 2] << 16)));
        return Math.Min(1, peak / 8388607.0);
    }
}

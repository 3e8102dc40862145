using System.Text;
using System.Text.RegularExpressions;
using LibraryShelf.Web.Setup.Demo.Folders;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Tests.Setup.Demo.Folders;

public sealed class FolderPlanTests
{
    private static readonly ShopRecipe Shop = SeedReader.Read(SeedReader.DefaultFolder);

    public static TheoryData<string, string> EveryVersion()
    {
        var data = new TheoryData<string, string>();
        foreach (var library in Shop.Libraries)
        {
            foreach (var version in library.Versions)
                data.Add(library.Slug, version.Number);
        }
        return data;
    }

    [Theory]
    [MemberData(nameof(EveryVersion))]
    public void The_mapping_and_the_files_agree_but_for_what_is_planted(string slug, string number)
    {
        var (library, version) = Find(slug, number);
        var files = FolderPlan.Of(library, version);
        Assert.Equal(files.Count, files.Select(f => f.Path).Distinct(StringComparer.OrdinalIgnoreCase).Count());
        var recordings = files.Where(f => f.Recording is not null).Select(f => f.Path).ToHashSet();
        var mapped = files.Where(f => f.Path.EndsWith(".sfz", StringComparison.Ordinal)).SelectMany(Samples).ToHashSet();
        var strays = version.Faults.Count(f => f.Kind is FaultKind.Missing or FaultKind.WrongCase);
        var unmapped = version.Faults.Count(f => f.Kind is FaultKind.Unmapped or FaultKind.WrongCase);
        Assert.Equal(strays, mapped.Except(recordings).Count());
        Assert.Equal(unmapped, recordings.Except(mapped).Count());
    }

    [Fact]
    public void Every_planted_fault_finds_its_recording()
    {
        var (library, version) = Find("sluice-gate-bass", "1.1.0");
        var plain = FolderPlan.Of(library, version with { Faults = [] });
        var planted = FolderPlan.Of(library, version);
        Assert.Equal(plain.Count - version.Faults.Count(f => f.Kind is FaultKind.Missing or FaultKind.LeftOut), planted.Count);
        Assert.Equal(
            version.Faults.Where(f => f.Kind is not (FaultKind.Missing or FaultKind.LeftOut or FaultKind.WrongCase)).Select(f => f.Kind).Order(),
            planted.Select(f => f.Recording?.Fault).OfType<FaultKind>().Order());
        Assert.Single(planted, f => f.Path == "Recordings/GATE_D2_SOFT_2.WAV");
    }

    [Fact]
    public void A_new_version_shares_the_recordings_it_did_not_make_again()
    {
        var before = Recordings("jam-jar-marimba", "1.0.1");
        var after = Recordings("jam-jar-marimba", "2.0.0");
        Assert.Equal(100, before.Count);
        Assert.True(before.IsSubsetOf(after), "2.0.0 renames the recordings of 1.0.1 and keeps every one.");
        Assert.Equal(91, before.Intersect(Recordings("jam-jar-marimba", "1.0.0")).Count());
    }

    [Fact]
    public void The_whole_shop_stays_small()
    {
        var bytes = Shop.Libraries
            .SelectMany(l => l.Versions.SelectMany(v => FolderPlan.Of(l, v)))
            .Select(f => f.Recording).OfType<PlannedRecording>().Distinct()
            .Sum(r => RecordingBytes.Of(r).LongLength);
        Assert.InRange(bytes, 40L << 20, 120L << 20);
    }

    private static HashSet<PlannedRecording> Recordings(string slug, string number)
    {
        var (library, version) = Find(slug, number);
        return [.. FolderPlan.Of(library, version).Select(f => f.Recording).OfType<PlannedRecording>()];
    }

    private static (LibraryRecipe Library, VersionRecipe Version) Find(string slug, string number)
    {
        var library = Shop.Libraries.Single(l => l.Slug == slug);
        return (library, library.Versions.Single(v => v.Number == number));
    }

    private static IEnumerable<string> Samples(SeedFile mapping) =>
        Regex.Matches(Encoding.UTF8.GetString(mapping.Bytes!), "sample=(.+)$", RegexOptions.Multiline).Select(m => m.Groups[1].Value);
}

using System.Text;
using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>What the folder of one version holds: recordings, mappings, a player's own files, a page on how it was recorded.</summary>
internal static class FolderPlan
{
    public static IReadOnlyList<SeedFile> Of(LibraryRecipe library, VersionRecipe version)
    {
        var files = new List<SeedFile>();
        var regions = new List<MappedRecording>();
        foreach (var group in version.Groups)
            AddGroup(library, version, group, files, regions);
        var ways = regions.GroupBy(r => r.Way).ToList();
        foreach (var way in ways)
        {
            var name = ways.Count == 1 ? library.Title : $"{library.Title} - {way.Key}";
            files.Add(Text($"{name}.sfz", SfzText.Write(library.Title, version.Number, way.Key, library.IsPitched, way)));
        }
        files.Add(Text("Notes/How it was recorded.md", $"# {library.Title}\n\n{library.Description}"));
        foreach (var path in version.PlayerFiles)
            files.Add(new SeedFile(path, null, PlayerFile.Write(library.Slug, version.Number, regions.Count)));
        return files;
    }

    private static void AddGroup(
        LibraryRecipe library, VersionRecipe version, PlayedGroup group, List<SeedFile> files, List<MappedRecording> regions)
    {
        foreach (var key in KeysOf(library, group))
        {
            for (var layer = 1; layer <= group.Layers.Count; layer++)
            {
                for (var take = 1; take <= group.Takes; take++)
                    AddRecording(library, version, group, new Place(key, layer, take), files, regions);
            }
            if (group.Lifts)
                AddRecording(library, version, group, new Place(key, 0, 1), files, regions);
        }
    }

    private static IEnumerable<int> KeysOf(LibraryRecipe library, PlayedGroup group) =>
        library.Pieces.Count > 0
            ? library.Pieces.Select(p => p.Key).Where(k => k >= group.Low && k <= group.High)
            : Enumerable.Range(0, ((group.High - group.Low) / group.Step) + 1).Select(i => group.Low + (i * group.Step));

    private static void AddRecording(
        LibraryRecipe library, VersionRecipe version, PlayedGroup group, Place place,
        List<SeedFile> files, List<MappedRecording> regions)
    {
        var fault = version.Faults.FirstOrDefault(f =>
            f.Way == group.Way && f.Key == place.Key && f.Layer == LayerOf(group, place) && f.Take == place.Take)?.Kind;
        if (fault == FaultKind.LeftOut)
            return;
        var path = PathOf(library, version, group, place);
        if (fault != FaultKind.Unmapped)
            regions.Add(Region(library, group, place, path, group.Takes - LeftOut(version, group, place)));
        if (fault == FaultKind.Missing)
            return;
        var session = 1 + version.RecordedAgain.Count(r => Covers(r, group, place));
        var sound = new Sound(library.Slug, group.Way, place.Key, LayerOf(group, place), place.Take, session);
        var piece = library.Pieces.FirstOrDefault(p => p.Key == place.Key);
        files.Add(new SeedFile(
            fault == FaultKind.WrongCase ? UpperCased(path) : path,
            new PlannedRecording(piece?.Voice ?? library.Voice, sound, fault is FaultKind.Unmapped or FaultKind.WrongCase ? null : fault),
            null));
    }

    private static int LeftOut(VersionRecipe version, PlayedGroup group, Place place) =>
        version.Faults.Count(f => f.Kind == FaultKind.Unmapped
            && f.Way == group.Way && f.Key == place.Key && f.Layer == LayerOf(group, place));

    private static string LayerOf(PlayedGroup group, Place place) => place.IsLift ? Sound.Lift : group.Layers[place.Layer - 1];

    private static bool Covers(RecordedAgain again, PlayedGroup group, Place place) =>
        again.Way == group.Way && !place.IsLift && again.Keys.Contains(place.Key)
        && (again.Layer is null || again.Layer == LayerOf(group, place)) && (again.Take ?? place.Take) == place.Take;

    private static string PathOf(LibraryRecipe library, VersionRecipe version, PlayedGroup group, Place place)
    {
        var piece = library.Pieces.FirstOrDefault(p => p.Key == place.Key);
        var path = version.Names
            .Replace("{way}", group.Way, StringComparison.Ordinal)
            .Replace("{stem}", library.Stem, StringComparison.Ordinal)
            .Replace("{note}", piece?.Name ?? NoteNames.Of(place.Key), StringComparison.Ordinal)
            .Replace("{layer}", LayerOf(group, place), StringComparison.Ordinal)
            .Replace("{take}", $"{place.Take}", StringComparison.Ordinal);
        return path + ".wav";
    }

    private static MappedRecording Region(LibraryRecipe library, PlayedGroup group, Place place, string path, int takes)
    {
        var pieced = library.Pieces.Count > 0;
        var low = pieced ? place.Key : Math.Max(group.Low, place.Key - ((group.Step - 1) / 2));
        var high = pieced ? place.Key : Math.Min(group.High, place.Key + (group.Step / 2));
        var (softest, hardest) = place.IsLift
            ? (1, 127)
            : (1 + ((place.Layer - 1) * 127 / group.Layers.Count), place.Layer * 127 / group.Layers.Count);
        return new MappedRecording(
            group.Way, path, low, high, place.Key, softest, hardest,
            place.Take, place.IsLift ? 1 : takes, place.IsLift, library.Voice.Loops && !place.IsLift);
    }

    private static string UpperCased(string path)
    {
        var name = path.LastIndexOf('/') + 1;
        return path[..name] + path[name..].ToUpperInvariant();
    }

    private static SeedFile Text(string path, string text) => new(path, null, Encoding.UTF8.GetBytes(text));

    /// <summary>Where a recording stands: layer and take from 1; layer 0 is the lift.</summary>
    private sealed record Place(int Key, int Layer, int Take)
    {
        public bool IsLift => Layer == 0;
    }
}

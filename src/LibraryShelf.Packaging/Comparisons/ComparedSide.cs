using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>One side of a comparison, read: its files by path, its programs, and where each recording stands in them.</summary>
internal sealed class ComparedSide
{
    private readonly ComparedFolder folder;
    private readonly List<SfzMapping> mappings;
    private readonly bool sameMappings;
    private readonly Dictionary<string, int[]> keys;
    private readonly Dictionary<string, RecordingPlace> places;

    /// <param name="folder">The folder.</param>
    /// <param name="like">Another side that may have the same mappings; null: none.</param>
    public ComparedSide(ComparedFolder folder, ComparedSide? like = null)
    {
        this.folder = folder;
        Files = folder.Files.ToDictionary(f => f.Path, StringComparer.Ordinal);
        mappings = like is not null && HasTextsOf(like) ? like.mappings : Parse();
        sameMappings = like is not null && mappings == like.mappings;
        Included = mappings.SelectMany(m => m.Includes).ToHashSet(StringComparer.Ordinal);
        Programs = mappings.FindAll(m => !Included.Contains(m.Path) && m.Regions.Any(r => r.SampleText is not null));
        var ways = Articulations.NamesOf(Programs.ConvertAll(p => p.Path));
        Ways = Programs.Select((p, i) => (p.Path, Way: ways.Count > 0 ? ways[i] : "")).ToDictionary(w => w.Path, w => w.Way, StringComparer.Ordinal);
        var recordings = Files.Values.Where(f => FactsOf(f) is not null && FileKinds.Of(f.Path) == FileKind.Recording)
            .ToDictionary(f => f.Path, f => FactsOf(f)!, StringComparer.Ordinal);
        var notes = DeclaredNotes.Of(recordings, Programs, folder.Naming, new Findings());
        places = RecordingPlaces.Of(recordings.Keys, Programs, notes).ToDictionary(p => p.Path, StringComparer.Ordinal);
        keys = Programs.SelectMany(p => p.Regions).Where(r => r.Sample is not null).GroupBy(r => r.Sample!, StringComparer.Ordinal)
            .ToDictionary(g => g.Key, g => g.SelectMany(KeysOf).Distinct().Order().ToArray(), StringComparer.Ordinal);
    }

    public IReadOnlyDictionary<string, ComparedFile> Files { get; }

    /// <summary>Whatever a mapping may include reads the same on both sides, and nothing that it looked for in vain is there on one alone.</summary>
    private bool HasTextsOf(ComparedSide other) => Texts(this).SetEquals(Texts(other));

    private static HashSet<(string Path, string Sha256)> Texts(ComparedSide side) =>
        [.. side.folder.Files.Where(f => FileKinds.Of(f.Path) != FileKind.Recording).Select(f => (f.Path, f.Sha256))];

    private List<SfzMapping> Parse()
    {
        var budget = new MappingBudget();
        return [.. Files.Keys.Where(p => FileKinds.Of(p) == FileKind.Mapping).Order(StringComparer.Ordinal)
            .Select(p => (Path: p, Text: folder.ReadText(p))).Where(m => m.Text is not null)
            .Select(m => SfzParser.Parse(m.Path, m.Text!, folder.ReadText, budget))];
    }

    public NoteNaming Naming => folder.Naming;

    /// <summary>The mappings that a person opens, in ordinal order of paths.</summary>
    public List<SfzMapping> Programs { get; }

    /// <summary>The way of playing by program; "" for the one unnamed.</summary>
    public IReadOnlyDictionary<string, string> Ways { get; }

    /// <summary>Mappings that another one includes.</summary>
    public IReadOnlySet<string> Included { get; }

    /// <summary>Null when it was not measured.</summary>
    public RecordingFacts? FactsOf(ComparedFile file) => folder.Recordings.GetValueOrDefault(file.Sha256);

    public Func<Stream> Opener(ComparedFile file) => () => folder.Open(file.Sha256);

    /// <summary>
    /// Surely plays as the side it was read beside: the same mappings, which name the same recordings, or new takes of them, and leave no key to what a
    /// recording says of itself. False says nothing.
    /// </summary>
    /// <param name="oldNameOf">See <see cref="MappingComparison"/>.</param>
    public bool SurelyPlaysTheSame(Func<string, string> oldNameOf) =>
        sameMappings && keys.Keys.All(path => oldNameOf(path) == path) && !Programs.Exists(p => p.Regions.Any(r => r.Opcodes.GetValueOrDefault("pitch_keycenter") == "sample"));

    public RecordingPlace? PlaceOf(string path) => places.GetValueOrDefault(path);

    /// <summary>A mapping sounds this recording.</summary>
    public bool IsMapped(string path) => keys.ContainsKey(path);

    /// <summary>Keys on which a recording can be heard: as mapped, else its declared note.</summary>
    public IReadOnlyList<int> KeysOf(string path) =>
        keys.GetValueOrDefault(path) is { Length: > 0 } mapped ? mapped : places.GetValueOrDefault(path)?.Note is { } note ? [note] : [];

    /// <summary>The key at which a region's recording sounds as it was recorded; pitch_keycenter=sample leaves that to what the file itself says.</summary>
    public int CentreOf(SfzRegion region) =>
        region.Opcodes.GetValueOrDefault("pitch_keycenter") == "sample" && region.Sample is { } sample && Files.TryGetValue(sample, out var file)
        && FactsOf(file) is { } facts && (facts.SmplNote ?? facts.InstNote) is { } note ? note : region.KeyCenter + region.NoteOffset;

    /// <summary>Keys of a region that exist, 0 to 127.</summary>
    public static IEnumerable<int> KeysOf(SfzRegion region)
    {
        // A key of -1 is none, wherever it is moved to.
        var (low, high) = (Math.Max(region.LowKey, 0) + region.NoteOffset, Math.Min(region.HighKey, 127) + region.NoteOffset);
        (low, high) = (Math.Max(low, 0), Math.Min(high, 127));
        return low <= high ? Enumerable.Range(low, high - low + 1) : [];
    }
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Recipes;

/// <summary>One library of seed/libraries: recipe.json with the Markdown files beside it.</summary>
internal sealed record LibraryRecipe
{
    public required string Slug { get; init; }
    public required string Title { get; init; }
    public required string Sentence { get; init; }
    public required string Sound { get; init; }
    public required Paint Paint { get; init; }
    public bool IsPitched { get; init; } = true;
    /// <summary>description.md.</summary>
    public string Description { get; init; } = "";
    /// <summary>The start of every recording's file name, such as "jar".</summary>
    public required string Stem { get; init; }
    public required Voice Voice { get; init; }
    /// <summary>The pieces of an unpitched kit, each with a sound of its own; empty: the voice over the keys.</summary>
    public IReadOnlyList<Piece> Pieces { get; init; } = [];
    /// <summary>What licence.md comes to, on every version that has it.</summary>
    public string LicenceInShort { get; init; } = "";
    /// <summary>Oldest first.</summary>
    public required IReadOnlyList<VersionRecipe> Versions { get; init; }
    /// <summary>Later decisions about who the library is for.</summary>
    public IReadOnlyList<LaterDecision> Decisions { get; init; } = [];
}

internal sealed record Piece(int Key, string Name, Voice Voice);

internal sealed record LaterDecision(int DaysAgo, Audience Audience);

/// <summary>One numbered version. What it does not say it takes over from the version before.</summary>
internal sealed record VersionRecipe
{
    public required string Number { get; init; }
    public required int DaysAgo { get; init; }
    /// <summary>Published for these people; null on the newest: left on the workbench with its check sheet, sealed, or given early.</summary>
    public Audience? Audience { get; init; }
    /// <summary>Without an audience: sealed, and not published.</summary>
    public bool IsSealed { get; init; }
    /// <summary>Without an audience: sealed, and given to these addresses before it is published.</summary>
    public IReadOnlyList<string> EarlyFor { get; init; } = [];
    /// <summary>NUMBER.md beside the recipe.</summary>
    public string Notes { get; init; } = "";
    /// <summary>An SPDX id; null: licence.md beside the recipe is the maker's own text.</summary>
    public string? Licence { get; init; }
    public string LicenceText { get; init; } = "";
    public string LicenceInShort { get; init; } = "";
    public string Credits { get; init; } = "";
    public IReadOnlyList<PlayerNeed> Players { get; init; } = [];
    /// <summary>Names of recordings: {way} {stem} {note} {key} {layer} {take} are filled in.</summary>
    public string Names { get; init; } = "";
    public IReadOnlyList<PlayedGroup> Groups { get; init; } = [];
    /// <summary>Keys and takes recorded again; added to those of the versions before.</summary>
    public IReadOnlyList<RecordedAgain> RecordedAgain { get; init; } = [];
    /// <summary>Paths of files only the named player reads: kept as they are.</summary>
    public IReadOnlyList<string> PlayerFiles { get; init; } = [];
    /// <summary>Faults planted in this version only.</summary>
    public IReadOnlyList<PlantedFault> Faults { get; init; } = [];
}

internal sealed record PlayerNeed(string Name, string Version, string HowToInstall = "");

/// <summary>Recordings of one way of playing: every <paramref name="Step"/>-th key, MIDI numbers; layers softest first.</summary>
internal sealed record PlayedGroup(
    string Way, int Low, int High, int Step, IReadOnlyList<string> Layers, int Takes, bool Lifts = false);

internal sealed record RecordedAgain(string Way, IReadOnlyList<int> Keys, string? Layer = null, int? Take = null);

internal enum FaultKind
{
    /// <summary>Driven past full scale.</summary>
    Clipped,
    /// <summary>The mapping names it; the folder lacks it.</summary>
    Missing,
    /// <summary>The file's name differs from the mapping's in upper and lower case.</summary>
    WrongCase,
    /// <summary>Nothing but zeros.</summary>
    Silent,
    /// <summary>The file stops in the middle of its sound.</summary>
    CutShort,
    /// <summary>44.1 kHz among 48 kHz.</summary>
    OtherRate,
    /// <summary>In the folder, but no mapping plays it: a harmless leftover.</summary>
    Unmapped,
    /// <summary>Neither recorded nor mapped: a key without any is a gap.</summary>
    LeftOut,
    /// <summary>Recorded with a fan running.</summary>
    Noisy,
    /// <summary>Trimmed carelessly: silence before the sound.</summary>
    Late,
    /// <summary>Another note than its name and mapping say.</summary>
    WrongNote,
    /// <summary>Far softer than its layer.</summary>
    TooSoft,
}

internal sealed record PlantedFault(FaultKind Kind, string Way, int Key, string Layer, int Take);

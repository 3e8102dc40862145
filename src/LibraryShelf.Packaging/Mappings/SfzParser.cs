using System.Text.RegularExpressions;

namespace LibraryShelf.Packaging.Mappings;

/// <summary>
/// Reads SFZ version 1 (headers group and region), with the later headers control (default_path), global and master, which
/// libraries use freely. Unknown opcodes are listed, never fatal.
/// </summary>
public sealed partial class SfzParser
{
    public const int MaxRegions = 100_000;

    /// <summary>Opcodes of all regions together, inherited ones counted in each: a global header with thousands must not fill the memory.</summary>
    public const int MaxInherited = 4_000_000;

    /// <summary>Levels from which a region inherits, outermost first; a header clears its own level and those within.</summary>
    private static readonly string[] Levels = ["global", "master", "group", "region"];

    private readonly string path;
    private readonly Dictionary<string, string>[] opcodes = [[], [], [], []];
    private readonly List<SfzRegion> regions = [];
    private readonly SfzProblems problems = new();
    private readonly Dictionary<string, string> control = new(StringComparer.Ordinal);
    private string defaultPath = "";
    private int noteOffset;
    private string header = "";
    private SfzLine regionLine;
    private long inherited;

    private readonly MappingBudget budget;

    private SfzParser(string path, MappingBudget budget) => (this.path, this.budget) = (path, budget);

    /// <summary>
    /// Parses the mapping at <paramref name="path"/> of the library folder. <paramref name="readText"/> gives an included file's text
    /// by its path in the folder, or null when there is none; <paramref name="budget"/> is one for all mappings of a folder.
    /// </summary>
    public static SfzMapping Parse(string path, string text, Func<string, string?> readText, MappingBudget budget)
    {
        ArgumentNullException.ThrowIfNull(budget);
        ArgumentNullException.ThrowIfNull(text);
        var parser = new SfzParser(path, budget);
        var lines = new SfzLines(readText, parser.problems, budget);
        foreach (var line in lines.Read(path, text))
            parser.TakeLine(line);
        parser.EndRegion();
        return new SfzMapping(path, parser.regions, lines.Includes, parser.problems.All) { Control = parser.control };
    }

    private void TakeLine(SfzLine line)
    {
        var tokens = Token().Matches(line.Text);
        if (tokens.Count == 0 || tokens[0].Index > 0)
            AddProblem(SfzProblemKind.StrayText, line, tokens.Count == 0 ? line.Text : line.Text[..tokens[0].Index]);
        for (var i = 0; i < tokens.Count; i++)
        {
            var token = tokens[i];
            var valueEnd = i + 1 < tokens.Count ? tokens[i + 1].Index : line.Text.Length;
            var rest = line.Text[(token.Index + token.Length)..valueEnd].Trim();
            if (token.Groups["opcode"].Success)
                TakeOpcode(line, token.Groups["opcode"].Value, rest);
            else
                TakeHeader(line, token.Groups["header"].Value, rest);
        }
    }

    private void TakeHeader(SfzLine line, string name, string rest)
    {
        EndRegion();
        header = name;
        regionLine = line;
        if (rest.Length > 0)
            AddProblem(SfzProblemKind.StrayText, line, rest);
        var level = Array.IndexOf(Levels, name);
        if (level < 0 && name != "control")
            AddProblem(SfzProblemKind.UnknownHeader, line, name);
        for (var i = Math.Max(level, 0); level >= 0 && i < Levels.Length; i++)
            opcodes[i].Clear();
    }

    private void TakeOpcode(SfzLine line, string name, string value)
    {
        var level = Array.IndexOf(Levels, header);
        if (header == "control")
            TakeControl(line, name, value);
        else if (header.Length == 0)
            AddProblem(SfzProblemKind.StrayText, line, $"{name}={value}");
        else if (level >= 0)
            Set(line, opcodes[level], name, value);
    }

    private void TakeControl(SfzLine line, string name, string value)
    {
        if (name == "default_path")
        {
            defaultPath = value;
            return;
        }
        AddProblem(SfzProblemKind.UnknownOpcode, line, name);
        control[name] = value;
        noteOffset = OffsetOf("note_offset") + 12 * OffsetOf("octave_offset");
    }

    /// <summary>0 when it is not written, or no whole number of a few octaves.</summary>
    private int OffsetOf(string name) =>
        control.TryGetValue(name, out var text) && int.TryParse(text, System.Globalization.NumberStyles.AllowLeadingSign, System.Globalization.CultureInfo.InvariantCulture, out var offset)
        && offset is >= -127 and <= 127 ? offset : 0;

    private void Set(SfzLine line, Dictionary<string, string> level, string name, string value)
    {
        if (SfzOpcodes.Find(name) is { } definition)
        {
            if (!definition.TryRead(value, out _))
                AddProblem(SfzProblemKind.UnreadableValue, line, $"{name}={value}");
        }
        else if (!SfzNames.IsKnown(name))
            AddProblem(SfzProblemKind.UnknownOpcode, line, name);

        // default_path holds from where it stands, so it is joined here and not when the region ends.
        level[name] = name == "sample" ? defaultPath + value : value;
        if (name == "key")
            level["lokey"] = level["hikey"] = level["pitch_keycenter"] = value;
    }

    private void EndRegion()
    {
        if (header != "region")
            return;
        header = "";
        inherited += opcodes.Sum(level => level.Count);
        if (inherited > MaxInherited)
        {
            AddProblem(SfzProblemKind.TooLarge, regionLine, T($"more than {MaxInherited} opcodes in its regions"));
            return;
        }
        if (regions.Count >= MaxRegions)
        {
            AddProblem(SfzProblemKind.TooLarge, regionLine, T($"more than {MaxRegions} regions"));
            return;
        }
        if (budget.TakeRegion(opcodes.Sum(level => level.Count)) is { } over)
        {
            AddProblem(SfzProblemKind.TooLarge, regionLine, over);
            return;
        }
        var all = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var level in opcodes)
            foreach (var (name, value) in level)
                all[name] = value;
        var sample = all.GetValueOrDefault("sample");
        regions.Add(new SfzRegion
        {
            File = regionLine.File,
            Line = regionLine.Number,
            Opcodes = all,
            NoteOffset = noteOffset,
            SampleText = sample,
            // "*sine" and the like are sounds that some players make themselves, no files.
            Sample = sample is null || IsGenerated(sample) ? null : FolderReference.Resolve(path, sample),
        });
    }

    /// <summary>True for a sample such as *silence that names a player's own sound instead of a file.</summary>
    internal static bool IsGenerated(string sample) => sample.Split('/', '\\')[^1].StartsWith('*');

    private void AddProblem(SfzProblemKind kind, SfzLine line, string text) => problems.Add(kind, line.File, line.Number, text);

    [GeneratedRegex(@"<(?<header>[A-Za-z_][A-Za-z0-9_]*)>|(?<=\A|\s|>)(?<opcode>[A-Za-z_][A-Za-z0-9_]*)=", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Token();
}

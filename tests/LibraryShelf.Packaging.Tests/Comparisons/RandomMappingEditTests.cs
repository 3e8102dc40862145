using System.Text;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Comparisons;

/// <summary>
/// A mapping and the players' requirement edited at random, one edit a key: comparing says exactly the sentences of docs/versions.md that these
/// edits ask for, of exactly these keys. The seed stands in the name of a test that fails.
/// </summary>
public sealed class RandomMappingEditTests
{
    private const int Keys = 12, Lowest = 60;

    /// <summary>A region of the mapping. <paramref name="Switch"/>: C1 (24) held notes and what sounds at first, C#1 (25) struck ones.</summary>
    private sealed record Line(string Sample, int Key, int LowVelocity, int HighVelocity, int Switch, int Turn, int Turns)
    {
        public int HighKey { get; init; } = Key;
        public string More { get; init; } = "";

        public override string ToString() =>
            $"<region> sample={Sample} lokey={Key} hikey={HighKey} pitch_keycenter={Key} lovel={LowVelocity} hivel={HighVelocity} "
            + $"sw_last={Switch} sw_default=24 seq_length={Turns} seq_position={Turn} {More}\n";
    }

    private enum Edit
    {
        Wider, Silent, FewerVelocities, OtherCrossing, WayRemoved, WayAdded, TakeAdded, Transposed, TakeRemoved, Softer, LayerRemoved,
    }

    public static TheoryData<int> Seeds() => [.. Enumerable.Range(1, 40)];

    [Theory, MemberData(nameof(Seeds))]
    public void The_edits_of_mapping_and_players_are_said_and_nothing_else(int seed)
    {
        var random = new Random(seed);
        var (old, next) = (Library(), Library());
        var lines = LinesOf();
        old.Mapping = Text(lines);
        var edits = Enumerable.Range(0, Keys).OrderBy(_ => random.Next()).Take(random.Next(0, 6))
            .ToDictionary(i => Lowest + 2 * i, _ => (Edit)random.Next(Enum.GetValues<Edit>().Length));
        foreach (var (key, edit) in edits)
            Do(edit, key, lines, next);
        next.Mapping = Text(lines);
        var expected = edits.GroupBy(e => e.Value, e => e.Key).SelectMany(g => SentencesOf(g.Key, [.. g.Order()])).ToHashSet();
        var (fewer, players) = (Merge(expected, edits), PlayerEdits(random, next));
        var comparison = FolderComparison.Compare(old.ToFolder(), next.ToFolder(), "1.0.0", CancellationToken.None);
        Assert.Equal(fewer.Concat(players).Order(StringComparer.Ordinal), comparison.Proposed.Because.Order(StringComparer.Ordinal));
        var touched = edits.Select(e => e.Value == Edit.Wider ? e.Key + 1 : e.Key).Order();
        Assert.Equal(touched, comparison.Changes.Where(c => c.Kind == ChangeKind.Remapped).SelectMany(c => c.Keys));
        Assert.Equal(players.Count, comparison.Changes.Count(c => c.Kind == ChangeKind.Requirement));
        Assert.Equal(BumpOf(edits.Values, players), comparison.Proposed.Bump);
    }

    private static MadeLibrary Library()
    {
        var library = new MadeLibrary();
        foreach (var line in LinesOf())
            library.Files[line.Sample] = MadeLibrary.Wav(MadeLibrary.Struck(MadeLibrary.HashCode(9, line.Key, line.LowVelocity + line.Switch, line.Turn), 262));
        return library;
    }

    private static List<Line> LinesOf() =>
    [
        .. Enumerable.Range(0, Keys).Select(i => Lowest + 2 * i).SelectMany(key => new Line[]
        {
            new($"soft_{key}_1.wav", key, 1, 63, 24, 1, 2), new($"soft_{key}_2.wav", key, 1, 63, 24, 2, 2),
            new($"loud_{key}_1.wav", key, 64, 127, 24, 1, 2), new($"loud_{key}_2.wav", key, 64, 127, 24, 2, 2),
            new($"struck_{key}.wav", key, 1, 127, 25, 1, 1),
        }),
    ];

    private static string Text(List<Line> lines) => new StringBuilder().AppendJoin("", lines).ToString();

    private static void Do(Edit edit, int key, List<Line> lines, MadeLibrary next)
    {
        void Change(Func<Line, bool> which, Func<Line, Line> how)
        {
            for (var i = 0; i < lines.Count; i++)
                if (lines[i].Key == key && which(lines[i]))
                    lines[i] = how(lines[i]);
        }
        bool IsSoft(Line line) => line is { Switch: 24, HighVelocity: < 127 };
        bool IsLoud(Line line) => line is { Switch: 24, HighVelocity: 127 };
        string Record(string name)
        {
            next.Files[name] = MadeLibrary.Wav(MadeLibrary.Struck(MadeLibrary.HashCode(10, key, 0, name.Length), 262));
            return name;
        }
        switch (edit)
        {
            case Edit.Wider: Change(_ => true, l => l with { HighKey = key + 1 }); break;
            case Edit.Silent: lines.RemoveAll(l => l.Key == key); break;
            case Edit.FewerVelocities: Change(IsSoft, l => l with { LowVelocity = 20 }); break;
            case Edit.OtherCrossing:
                Change(IsSoft, l => l with { HighVelocity = 69 });
                Change(IsLoud, l => l with { LowVelocity = 70 });
                break;
            case Edit.WayRemoved: lines.RemoveAll(l => l.Key == key && l.Switch == 25); break;
            case Edit.WayAdded: lines.Add(new Line(Record($"plucked_{key}.wav"), key, 1, 127, 26, 1, 1)); break;
            case Edit.TakeAdded:
                Change(IsSoft, l => l with { Turns = 3 });
                lines.Add(new Line(Record($"soft_{key}_3.wav"), key, 1, 63, 24, 3, 3));
                break;
            case Edit.Transposed: Change(_ => true, l => l with { More = "transpose=-2" }); break;
            case Edit.TakeRemoved:
                lines.RemoveAll(l => l.Key == key && IsSoft(l) && l.Turn == 2);
                Change(IsSoft, l => l with { Turns = 1 });
                break;
            case Edit.Softer: Change(_ => true, l => l with { More = "volume=-3" }); break;
            default:
                lines.RemoveAll(l => l.Key == key && IsSoft(l));
                Change(IsLoud, l => l with { LowVelocity = 1 });
                break;
        }
    }

    /// <summary>Sentences of one kind of edit, each with its keys.</summary>
    private static IEnumerable<(string Words, string Keys)> SentencesOf(Edit edit, int[] keys)
    {
        string[] words = edit switch
        {
            Edit.Wider => ["{0} sounds now"],
            Edit.Silent => ["nothing sounds on {0} any more"],
            Edit.FewerVelocities => ["some velocities of {0} sound no more"],
            Edit.WayRemoved => ["fewer layers on {0}", $"after the switch key C#1, {{0}} {(keys.Length == 1 ? "sounds" : "sound")} no more"],
            Edit.WayAdded => ["D1 is a switch key now", $"after the switch key D1, {{0}} {(keys.Length == 1 ? "sounds" : "sound")} now"],
            Edit.TakeAdded => ["more takes on {0}"],
            Edit.Transposed => ["the same recordings sound at another pitch on {0}"],
            Edit.LayerRemoved => ["fewer layers on {0}"],
            _ => [],
        };
        return words.Select(w => (w, string.Join(' ', keys.Select(k => edit == Edit.Wider ? k + 1 : k))));
    }

    /// <summary>As whole sentences; two kinds of edits may take layers, and what only sounds otherwise is said when there is nothing else to say.</summary>
    private static List<string> Merge(HashSet<(string Words, string Keys)> sentences, Dictionary<int, Edit> edits)
    {
        var all = sentences.GroupBy(s => s.Words, s => s.Keys)
            .Select(g => string.Format(System.Globalization.CultureInfo.InvariantCulture, g.Key, KeyWords(g.SelectMany(k => k.Split(' ')).Select(int.Parse))) + ".").ToList();
        if (all.Count == 0 && edits.Count > 0)
            all.Add($"{KeyWords(edits.Keys)} {(edits.Count == 1 ? "plays" : "play")} with other settings or recordings.");
        var added = edits.Values.Count(e => e is Edit.WayAdded or Edit.TakeAdded);
        if (added > 0)
            all.Add($"{Words.Recordings(added)} {(added == 1 ? "was" : "were")} added.");
        return all;
    }

    private static string KeyWords(IEnumerable<int> keys) => Words.Keys([.. keys.Order()], NoteNaming.C4);

    private static List<string> PlayerEdits(Random random, MadeLibrary next)
    {
        var said = new List<string>();
        if (random.Next(3) == 0)
        {
            next.Players[0] = new ComparedPlayer("Pondskater", "2.0");
            said.Add("It needs Pondskater 2.0 or later, where Pondskater 1.8 was enough.");
        }
        else if (random.Next(3) == 0)
        {
            next.Players[0] = new ComparedPlayer("Pondskater", "1.7.5");
            said.Add("Pondskater 1.7.5 is enough, where Pondskater 1.8 was needed.");
        }
        if (random.Next(4) == 0)
        {
            next.Players.RemoveAt(1);
            said.Add("It no longer opens in Rushlight.");
        }
        if (random.Next(4) == 0)
        {
            next.Players.Add(new ComparedPlayer("Reedpipe", ""));
            said.Add("It opens in Reedpipe now.");
        }
        return said;
    }

    private static Bump BumpOf(IEnumerable<Edit> edits, List<string> players) => edits.Select(e => e switch
    {
        Edit.Silent or Edit.FewerVelocities or Edit.WayRemoved or Edit.Transposed or Edit.LayerRemoved => Bump.Major,
        Edit.Wider or Edit.WayAdded or Edit.TakeAdded => Bump.Minor,
        _ => Bump.Patch,
    }).Concat(players.Select(p => p.StartsWith("It needs", StringComparison.Ordinal) || p.StartsWith("It no longer", StringComparison.Ordinal) ? Bump.Major : Bump.Minor))
        .DefaultIfEmpty(Bump.None).Max();
}

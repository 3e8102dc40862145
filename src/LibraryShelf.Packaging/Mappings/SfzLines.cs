using System.Text;
using System.Text.RegularExpressions;

namespace LibraryShelf.Packaging.Mappings;

internal readonly record struct SfzLine(string File, int Number, string Text);

/// <summary>
/// The lines of a mapping as a player sees them: comments gone, #include put in place (inside the folder only, no loops), #define
/// replaced. Everything is bounded, because a mapping may come from anywhere.
/// </summary>
internal sealed partial class SfzLines(Func<string, string?> readText, SfzProblems problems, MappingBudget budget)
{
    public const int MaxDepth = 16, MaxLines = 200_000, MaxLineLength = 16_384, MaxDefines = 1_000, MaxIncludes = 200;

    /// <summary>Letters of a mapping and all it includes, as often as it includes them: twice what one file may hold.</summary>
    public const long MaxLetters = 2L * MappingText.MaxBytes;

    /// <summary>Letters looked through for names of #define: each line with a $ is searched for each name. Some seconds at most.</summary>
    public const long MaxSearched = 4L << 30;

    private readonly Dictionary<string, string> defines = new(StringComparer.Ordinal);
    private readonly List<SfzLine> lines = [];
    private List<string> definesLongestFirst = [];
    private string root = "";
    private int included;
    private long letters, kept, searched;

    public HashSet<string> Includes { get; } = new(StringComparer.Ordinal);

    public List<SfzLine> Read(string path, string text)
    {
        root = path;
        AddFile(path, text, [path]);
        return lines;
    }

    private void AddFile(string file, string text, IReadOnlyList<string> open)
    {
        var number = 0;
        letters += text.Length;
        if (letters > MaxLetters)
        {
            problems.Add(SfzProblemKind.TooLarge, file, 1, T($"more than {MaxLetters >> 20} MiB with all it includes"));
            return;
        }
        if (!budget.TakeLetters(text.Length))
        {
            problems.Add(SfzProblemKind.TooLarge, file, 1, T($"with the folder’s other mappings more than {MappingBudget.MostLetters >> 20} MiB"));
            return;
        }
        foreach (var line in WithoutComments(text).Split('\n'))
        {
            number++;
            if (budget.IsSpent)
            {
                SayKept(file, number);
                return;
            }
            if (lines.Count >= MaxLines)
            {
                problems.Add(SfzProblemKind.TooLarge, file, number, T($"more than {MaxLines} lines"));
                return;
            }
            AddLine(new SfzLine(file, number, line.Trim()), open);
        }
    }

    private void AddLine(SfzLine line, IReadOnlyList<string> open)
    {
        if (line.Text.Length == 0)
            return;
        if (line.Text.Length > MaxLineLength)
            problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T($"a line of more than {MaxLineLength} letters"));
        else if (IncludeLine().Match(line.Text) is { Success: true } include)
            AddInclude(line, Expand(line, include.Groups["path"].Value), open);
        else if (DefineLine().Match(line.Text) is { Success: true } define)
            AddDefine(line, define);
        else
            Keep(line with { Text = Expand(line, line.Text) });
    }

    private void Keep(SfzLine line)
    {
        kept += line.Text.Length;
        if (!budget.TakeKept(line.Text.Length))
            SayKept(line.File, line.Number);
        else if (kept > MaxLetters)
            problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T($"more than {MaxLetters >> 20} MiB once #define is replaced"));
        else
            lines.Add(line);
    }

    private void SayKept(string file, int number) => problems.Add(
        SfzProblemKind.TooLarge, file, number, T($"with the folder’s other mappings more than {MappingBudget.MostLetters >> 20} MiB once #define is replaced"));

    private void AddInclude(SfzLine line, string written, IReadOnlyList<string> open)
    {
        // Includes are relative to the mapping that the player opened, not to the file that includes.
        var path = FolderReference.Resolve(root, written);
        if (path is null)
            problems.Add(SfzProblemKind.IncludeOutside, line.File, line.Number, written);
        else if (open.Contains(path))
            problems.Add(SfzProblemKind.IncludeLoop, line.File, line.Number, written);
        else if (open.Count >= MaxDepth)
            problems.Add(SfzProblemKind.IncludeTooDeep, line.File, line.Number, written);
        else if (++included > MaxIncludes)
            problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T($"more than {MaxIncludes} #include"));
        else if (letters > MaxLetters)
            return;
        else if (readText(path) is not { } text)
            problems.Add(SfzProblemKind.IncludeMissing, line.File, line.Number, written);
        else
        {
            Includes.Add(path);
            AddFile(path, text, [.. open, path]);
        }
    }

    private void AddDefine(SfzLine line, Match define)
    {
        if (defines.Count >= MaxDefines)
        {
            problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T($"more than {MaxDefines} #define"));
            return;
        }
        var name = define.Groups["name"].Value;
        var isNew = !defines.ContainsKey(name);
        defines[name] = define.Groups["value"].Value;
        if (isNew)
            definesLongestFirst = [.. defines.Keys.OrderByDescending(k => k.Length).ThenBy(k => k, StringComparer.Ordinal)];
    }

    private string Expand(SfzLine line, string text)
    {
        if (defines.Count == 0 || !text.Contains('$', StringComparison.Ordinal))
            return text;
        foreach (var name in definesLongestFirst)
        {
            // Some letters more for each search: many short lines cost as much as few long ones.
            searched += text.Length + 64;
            if (searched > MaxSearched || !budget.TakeSearched(text.Length + 64))
            {
                problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T("more #define than can be replaced"));
                return "";
            }
            text = text.Replace(name, defines[name], StringComparison.Ordinal);
            if (text.Length <= MaxLineLength)
                continue;
            problems.Add(SfzProblemKind.TooLarge, line.File, line.Number, T("a line that #define makes too long"));
            return "";
        }
        return text;
    }

    /// <summary>
    /// Passes over // to the end of the line and /* … */, keeping line breaks so that line numbers hold. A plain loop, because a
    /// pattern over 16 MiB could run into its time limit on a busy machine.
    /// </summary>
    private static string WithoutComments(string text)
    {
        text = text.Replace("\r\n", "\n", StringComparison.Ordinal).Replace('\r', '\n');
        var plain = new StringBuilder(text.Length);
        var at = 0;
        while (at < text.Length)
        {
            var slash = text.IndexOf('/', at);
            var next = slash >= 0 && slash + 1 < text.Length ? text[slash + 1] : '\0';
            var keepTo = slash < 0 ? text.Length : next is '/' or '*' ? slash : slash + 1;
            plain.Append(text, at, keepTo - at);
            at = keepTo == slash ? EndOfComment(text, slash, isLine: next == '/', plain) : keepTo;
        }
        return plain.ToString();
    }

    /// <summary>Where the comment at <paramref name="start"/> ends; its line breaks go to <paramref name="plain"/>.</summary>
    private static int EndOfComment(string text, int start, bool isLine, StringBuilder plain)
    {
        var end = isLine ? text.IndexOf('\n', start) : text.IndexOf("*/", start + 2, StringComparison.Ordinal);
        var after = end < 0 ? text.Length : isLine ? end : end + 2;
        plain.Append('\n', text.AsSpan(start, after - start).Count('\n'));
        return after;
    }

    [GeneratedRegex("""\A#include\s+"(?<path>[^"]+)"\s*\z""", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex IncludeLine();

    [GeneratedRegex(@"\A#define\s+(?<name>\$[A-Za-z0-9_]+)\s+(?<value>\S+)\s*\z", RegexOptions.CultureInvariant, 1000)]
    private static partial Regex DefineLine();
}

using System.Text;
using System.Text.RegularExpressions;
using Mono.Cecil;
using Mono.Cecil.Cil;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>Reads the compiled pages for words between tags, or in attributes that people read or hear, that are written out as they stand instead of being said by H(…) or T(…).</summary>
internal static partial class WordsOnPages
{
    private const char Hole = '\u0001';

    /// <summary>By the page's path under Pages, in all its branches.</summary>
    public static IEnumerable<(string Page, string Words)> Unsaid(string assembly)
    {
        using var program = ModuleDefinition.ReadModule(assembly);
        foreach (var page in program.Types.Where(t => t.Name.StartsWith("Pages_", StringComparison.Ordinal)))
            foreach (var words in MethodsOf(page).SelectMany(Of).Distinct(StringComparer.Ordinal))
                yield return (page.Name, words);
    }

    private static IEnumerable<MethodDefinition> MethodsOf(TypeDefinition type) => type.Methods.Where(m => m.HasBody).Concat(type.NestedTypes.SelectMany(MethodsOf));

    private static IEnumerable<string> Of(MethodDefinition method)
    {
        var html = new StringBuilder();
        string? attribute = null;
        foreach (var step in method.Body.Instructions)
        {
            if (step.OpCode == OpCodes.Ldstr && IsLoose(step) && Sentence().IsMatch((string)step.Operand))
                yield return $"in its code: {step.Operand}";
            if (step.Operand is not MethodReference called)
                continue;
            var last = Literals(step);
            switch (called.Name)
            {
                case "WriteLiteral":
                    html.Append(last.FirstOrDefault() ?? "").Append(Hole);
                    break;
                case "BeginWriteAttribute":
                    attribute = last.LastOrDefault();
                    break;
                case "WriteAttributeValue" when attribute is not null && IsRead(attribute):
                    foreach (var value in last.Where(v => Word().IsMatch(v)))
                        yield return $"{attribute}=\"{value}\"";
                    break;
                case ".ctor" when called.DeclaringType.Name == "TagHelperAttribute" && last.Count >= 2 && IsRead(last[^1]) && Word().IsMatch(last[0]):
                    yield return $"{last[^1]}=\"{last[0]}\"";
                    break;
            }
        }
        var text = html.ToString();
        foreach (Match read in ReadAttribute().Matches(text))
            if (Word().IsMatch(read.Groups["value"].Value))
                yield return read.Value.Replace(Hole, '…');
        // What is typed or is a name of the trade's own is the same in every language.
        text = Verbatim().Replace(text, "");
        foreach (var between in Tag().Split(text))
            if (Word().IsMatch(Entity().Replace(between, "")))
                yield return between.Replace(Hole, '…').Trim(' ', '\n', '…');
    }

    /// <summary>The string literals pushed just before a call, the nearest first.</summary>
    private static List<string> Literals(Instruction call)
    {
        List<string> found = [];
        for (var (step, left) = (call.Previous, 8); step is not null && left > 0; step = step.Previous, left--)
        {
            if (step.OpCode == OpCodes.Ldstr)
                found.Add((string)step.Operand);
            else if (step.OpCode.FlowControl == FlowControl.Call)
                break;
        }
        return found;
    }

    /// <summary>Handed to nothing that says it or writes it as HTML: a sentence in the page's own C#.</summary>
    private static bool IsLoose(Instruction text) => text.Next?.Operand is not MethodReference { Name: "T" or "H" or "WriteLiteral" or "AppendLiteral" or "AppendHtml" } next
        || (next.Name == "AppendLiteral" && next.DeclaringType.Name == "DefaultInterpolatedStringHandler");

    private static bool IsRead(string attribute) => attribute is "aria-label" or "title" or "alt" or "placeholder" or "data-label" or "aria-roledescription" or "aria-description" or "label";

    [GeneratedRegex(@"\s(aria-label|title|alt|placeholder|data-label|aria-description|label)=""(?<value>[^""]*)""")]
    private static partial Regex ReadAttribute();

    [GeneratedRegex(@"<(code|pre|kbd|samp)\b[^>]*>.*?</\1>", RegexOptions.Singleline)]
    private static partial Regex Verbatim();

    [GeneratedRegex("<[^<>]*>")]
    private static partial Regex Tag();

    [GeneratedRegex("&#?[A-Za-z0-9]+;")]
    private static partial Regex Entity();

    [GeneratedRegex(@"^[A-Z]\p{L}* \p{L}|\p{L}+[,:;]? (\p{L}+|…)[,:;]? \p{L}")]
    private static partial Regex Sentence();

    [GeneratedRegex(@"\p{L}{2,}")]
    private static partial Regex Word();
}

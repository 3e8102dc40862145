using System.Text;
using System.Text.RegularExpressions;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <param name="Key">Under which a language's file has it.</param>
/// <param name="IsNoun">It is counted, so it has a form for each plural category.</param>
/// <param name="Place">File and line.</param>
/// <param name="Fault">Why it can't be found there; null: it can.</param>
internal sealed record TextInCode(string Key, bool IsNoun, string Place, string? Fault = null);

/// <summary>Finds what is said by T(…), H(…), Noun(…) and Plural.…(…) in C# and in pages.</summary>
internal static partial class TextsInCode
{
    public static readonly string[] Rooms = ["Audio", "Packaging", "Core", "Data.Sqlite", "Data.Postgres", "Adapters", "Web"];

    public static IEnumerable<string> Files(string pattern) => Rooms.SelectMany(room => Repository.FilesUnder($"src/LibraryShelf.{room}", pattern))
        .Where(f => !f.Contains("/Migrations/", StringComparison.Ordinal));

    private static readonly Lazy<IReadOnlyList<TextInCode>> Found = new(Find);

    /// <summary>Looked for once: parsing all code takes seconds, and no test changes it.</summary>
    public static IReadOnlyList<TextInCode> All() => Found.Value;

    private static List<TextInCode> Find()
    {
        var found = Files("*.cs").AsParallel().SelectMany(file => Said(CSharpSyntaxTree.ParseText(File.ReadAllText(file)).GetRoot(), file, node => LineOf(node))).ToList();
        foreach (var file in Files("*.cshtml"))
        {
            var page = File.ReadAllText(file);
            foreach (Match match in Start().Matches(page))
            {
                var line = page.AsSpan(0, match.Index).Count('\n') + 1;
                if (SyntaxFactory.ParseExpression(page, match.Index, consumeFullText: false).DescendantNodesAndSelf().OfType<InvocationExpressionSyntax>().FirstOrDefault(i => i.SpanStart == 0) is { } call)
                    found.AddRange(Of(call, $"{Relative(file)}:{line}"));
            }
        }
        return found;
    }

    private static string Relative(string file) => Path.GetRelativePath(Repository.Root, file);

    private static int LineOf(SyntaxNode node) => node.GetLocation().GetLineSpan().StartLinePosition.Line + 1;

    private static IEnumerable<TextInCode> Said(SyntaxNode root, string file, Func<SyntaxNode, int> lineOf) =>
        root.DescendantNodes().OfType<InvocationExpressionSyntax>().SelectMany(call => Of(call, $"{Relative(file)}:{lineOf(call)}"));

    private static IEnumerable<TextInCode> Of(InvocationExpressionSyntax call, string place)
    {
        // H hands on what it was given.
        if (place.Contains("/Words/PageText.cs", StringComparison.Ordinal))
            yield break;
        var arguments = call.ArgumentList.Arguments;
        switch (call.Expression.ToString())
        {
            case "T" or "H" or "Say.T" or "PageText.H" when arguments.Count == 1:
                yield return KeyOf(arguments[0].Expression) is { } key ? new(key, false, place) : new("", false, place, $"{call}: what is said is a literal or an interpolated string, or a sum of such of one kind, so that it can be found.");
                break;
            case "Noun" or "Say.Noun" or "Say.Count" when arguments.Count == 3:
                foreach (var noun in Literals(arguments[1].Expression))
                    yield return new(noun, true, place);
                break;
            case "ScriptWords.Noun" when arguments.Count == 2:
                foreach (var noun in Literals(arguments[0].Expression))
                    yield return new(noun, true, place);
                break;
            case "Plural.Of" or "Plural.InWords" or "Plural.Opening" or "Words.Count" or "WeekSentences.Many" or "Many" when arguments.Count >= 2:
                foreach (var noun in Literals(arguments[1].Expression))
                    yield return new(noun, true, place);
                break;
        }
    }

    private static IEnumerable<string> Literals(ExpressionSyntax expression) =>
        expression.DescendantNodesAndSelf().OfType<LiteralExpressionSyntax>().Where(l => l.IsKind(SyntaxKind.StringLiteralExpression)).Select(l => l.Token.ValueText);

    /// <summary>As the program makes it of the same text: holes are numbered in their order, braces doubled. Null: no literal.</summary>
    private static string? KeyOf(ExpressionSyntax expression)
    {
        var key = new StringBuilder();
        var holes = 0;
        var parts = expression.DescendantNodesAndSelf(n => n is BinaryExpressionSyntax or ParenthesizedExpressionSyntax).ToList();
        var isFilled = parts.Any(n => n is InterpolatedStringExpressionSyntax);
        // The compiler makes one plain string of a sum that has a plain part and one with holes; and a plain string's holes are filled with nothing.
        if (isFilled ? parts.Any(n => n.IsKind(SyntaxKind.StringLiteralExpression)) : Hole().IsMatch(string.Concat(Literals(expression))))
            return null;
        return Add(expression) ? key.ToString() : null;

        bool Add(ExpressionSyntax part)
        {
            switch (part)
            {
                case ParenthesizedExpressionSyntax inner:
                    return Add(inner.Expression);
                case BinaryExpressionSyntax sum when sum.IsKind(SyntaxKind.AddExpression):
                    return Add(sum.Left) && Add(sum.Right);
                case LiteralExpressionSyntax literal when literal.IsKind(SyntaxKind.StringLiteralExpression):
                    key.Append(isFilled ? Doubled(literal.Token.ValueText) : literal.Token.ValueText);
                    return true;
                case InterpolatedStringExpressionSyntax filled:
                    foreach (var piece in filled.Contents)
                    {
                        if (piece is InterpolatedStringTextSyntax words)
                            // The token has the braces doubled already, and escapes as they are written.
                            key.Append(Doubled(Unescaped(words.TextToken.ValueText)));
                        else
                            key.Append('{').Append(holes++).Append('}');
                    }
                    return true;
                default:
                    return false;
            }
        }
    }

    private static string Doubled(string text) => text.Replace("{", "{{", StringComparison.Ordinal).Replace("}", "}}", StringComparison.Ordinal);

    private static string Unescaped(string text) => text.Replace("{{", "{", StringComparison.Ordinal).Replace("}}", "}", StringComparison.Ordinal);

    [GeneratedRegex(@"\{[0-9]+\}")]
    private static partial Regex Hole();

    [GeneratedRegex(@"(?<![\w.])(T|H|Noun|Plural\.(Of|InWords|Opening))\(")]
    private static partial Regex Start();
}

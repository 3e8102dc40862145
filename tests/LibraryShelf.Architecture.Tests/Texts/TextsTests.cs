using System.Text.Encodings.Web;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Xunit.Abstractions;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>Whatever people read is said so that another language is a file (docs/texts.md).</summary>
public sealed partial class TextsTests(ITestOutputHelper output)
{
    [Fact]
    public void Every_text_can_be_found_by_its_key() =>
        Assert.Empty(TextsInCode.All().Where(t => t.Fault is not null).Select(t => $"{t.Place}: {t.Fault}"));

    [Fact]
    public void What_is_compiled_as_a_plain_text_is_a_key()
    {
        var keys = TextsInCode.All().Where(t => t.Fault is null).Select(t => t.Key).ToHashSet(StringComparer.Ordinal);
        var plain = TextsCompiled.Plain().ToList();
        Assert.True(plain.Count > 1000, $"Only {plain.Count} plain texts were found.");
        Assert.Empty(plain.Where(p => !keys.Contains(p.Text)).Select(p => $"{p.Place}: “{p.Text}” is no key: the compiler put constants into its holes."));
    }

    [Fact]
    public void Pages_say_their_words()
    {
        var unsaid = WordsOnPages.Unsaid(typeof(LibraryShelf.Web.Pages.Words.PageText).Assembly.Location).Select(w => $"{w.Page}: {w.Words}").Where(IsAsked).ToList();
        unsaid.ForEach(output.WriteLine);
        Assert.True(unsaid.Count == 0, $"{unsaid.Count} words on pages are said by neither H(…) nor T(…):\n" + string.Join('\n', unsaid.Take(200)));
    }

    [Fact]
    public void Code_says_its_words()
    {
        var unsaid = WordsInCode.Unsaid(TextsInCode.Files("*.cs")).Select(w => $"{w.File}:{w.Line}: {w.Words}").Where(IsAsked).ToList();
        unsaid.ForEach(output.WriteLine);
        Assert.True(unsaid.Count == 0, $"{unsaid.Count} sentences are not said by T(…):\n" + string.Join('\n', unsaid.Take(400)));
    }

    /// <summary>Languages have their own rules for first letters. A way of playing is the maker's own word, in her language.</summary>
    [Fact]
    public void No_first_letter_is_made_large_or_small_by_code()
    {
        var made = TextsInCode.Files("*.cs*").Where(f => FirstLetter().IsMatch(File.ReadAllText(f))).Select(f => Path.GetRelativePath(Repository.Root, f).Replace('\\', '/')).ToList();
        Assert.Equal(["src/LibraryShelf.Web/Pages/Shelf/ListenWords.cs"], made);
    }

    /// <summary>SHELF_WRITE_TEXTS=1 writes it anew.</summary>
    [Fact]
    public void The_template_has_every_text_and_no_other()
    {
        var made = Template();
        var file = Path.Combine(Repository.Root, "src/LibraryShelf.Texts/languages/template.json");
        if (Environment.GetEnvironmentVariable("SHELF_WRITE_TEXTS") == "1")
            File.WriteAllText(file, made);
        Assert.True(made == File.ReadAllText(file), $"{Path.GetFileName(file)} is not as the code has its texts: run the tests of this class with SHELF_WRITE_TEXTS=1.");
    }

    private static string Template()
    {
        var texts = new JsonObject();
        foreach (var text in TextsInCode.All().Where(t => t.Fault is null).GroupBy(t => t.Key, StringComparer.Ordinal).OrderBy(g => g.Key, StringComparer.Ordinal))
            texts[text.Key] = text.Any(t => t.IsNoun) ? new JsonObject { ["one"] = "", ["other"] = "" } : "";
        var template = new JsonObject
        {
            ["language"] = "", ["plurals"] = new JsonObject { ["one"] = "" },
            ["months"] = new JsonArray(), ["shortMonths"] = new JsonArray(), ["days"] = new JsonArray(), ["decimal"] = ".", ["thousands"] = ",", ["texts"] = texts,
        };
        return template.ToJsonString(new() { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping }) + "\n";
    }

    [GeneratedRegex(@"To(Upper|Lower)(Invariant)?\([\w.]+\[0\][^)]*\)\s*\+")]
    private static partial Regex FirstLetter();

    /// <summary>SHELF_TEXTS_OF=Pages/Workbench looks at that part.</summary>
    private static bool IsAsked(string line) => Environment.GetEnvironmentVariable("SHELF_TEXTS_OF") is not { Length: > 0 } part || line.Replace('_', '/').Contains(part, StringComparison.Ordinal);
}

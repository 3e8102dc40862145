using Xunit.Abstractions;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>Whatever people read is said so that another language is a file (docs/texts.md).</summary>
public sealed class TextsTests(ITestOutputHelper output)
{
    /// <summary>Parts that are still to be gone through; a part that was is taken off this list.</summary>
    private static readonly string[] NotYet = ["Pages", "src/LibraryShelf.Web"];

    [Fact]
    public void Every_text_can_be_found_by_its_key() =>
        Assert.Empty(TextsInCode.All().Where(t => t.Fault is not null).Select(t => $"{t.Place}: {t.Fault}"));

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

    /// <summary>SHELF_TEXTS_OF=Pages/Workbench looks at that part.</summary>
    private static bool IsAsked(string line) => Environment.GetEnvironmentVariable("SHELF_TEXTS_OF") is not { Length: > 0 } part
        ? !NotYet.Any(p => line.StartsWith(p, StringComparison.Ordinal))
        : line.Replace('_', '/').Contains(part, StringComparison.Ordinal);
}

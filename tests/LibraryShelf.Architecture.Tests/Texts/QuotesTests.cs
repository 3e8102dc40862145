using System.Text.RegularExpressions;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>What people read has the apostrophe and the quotation marks of print, ’ “ ”, everywhere (docs/texts.md). Straight ones are for what a machine reads.</summary>
public sealed partial class QuotesTests
{
    /// <summary>Commands and what they are told, patterns of days (where ' is NodaTime's), and one text about the very sign.</summary>
    private static readonly string[] ForMachines = ["MMM ''yy", "d MMMM uuuu 'at' HH:mm", "ENCODING 'UTF8'", "Windows allows none of < > : \" | ? * in a name."];

    [Fact]
    public void Texts_have_the_signs_of_print()
    {
        var texts = TextsInCode.All().Where(t => t.Fault is null).ToList();
        Assert.Empty(texts.Where(t => HasStraight(t.Key)).Select(t => $"{t.Place}: {t.Key}"));
        // What is let through is said somewhere; else it is let through no longer.
        Assert.All(ForMachines, m => Assert.Contains(texts, t => t.Key.Contains(m, StringComparison.Ordinal)));
        // As many texts were looked at as there are.
        Assert.True(texts.Count(t => t.Key.Contains('’', StringComparison.Ordinal)) > 200);
        Assert.DoesNotContain(Repository.FilesUnder("src/LibraryShelf.Texts/languages/en", "*.md"), f => HasStraight(File.ReadAllText(f)));
    }

    [Theory]
    [InlineData("It can't be read.", true)]
    [InlineData("Members' libraries", true)]
    [InlineData("Press \"Go on\".", true)]
    [InlineData("<a href=\"{0}\">It’s “there”</a>", false)]
    [InlineData("Type <code class=\"long\">-H \"A: {0}\"</code>", false)]
    public void A_straight_one_is_seen_and_those_of_tags_and_code_are_none(string text, bool isStraight) => Assert.Equal(isStraight, HasStraight(text));

    private static bool HasStraight(string text) =>
        ForMachines.Aggregate(Tags().Replace(text, ""), (left, machine) => left.Replace(machine, "", StringComparison.Ordinal)).AsSpan().IndexOfAny('\'', '"') >= 0;

    [GeneratedRegex("<code[^>]*>.*?</code>|</?[a-z][^>]*>", RegexOptions.Singleline, 1000)]
    private static partial Regex Tags();
}

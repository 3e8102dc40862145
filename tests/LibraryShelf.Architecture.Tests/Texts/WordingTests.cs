using System.Text.RegularExpressions;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>One thing has one name: all texts against the table "Which word" of docs/texts.md.</summary>
public sealed partial class WordingTests
{
    private static readonly List<Row> Table = [.. File.ReadAllLines(Path.Combine(Repository.Root, "docs/texts.md"))
        .SkipWhile(l => l != "## Which word").Skip(1).TakeWhile(l => !l.StartsWith("## ", StringComparison.Ordinal))
        .Where(l => l.StartsWith('|')).Skip(2).Select(Row.Read)];

    private static readonly HashSet<string> Texts = TextsInCode.All().Where(t => t.Fault is null).Select(t => t.Key).ToHashSet(StringComparer.Ordinal);

    [Fact]
    public void What_the_table_chose_is_said_and_its_labels_as_they_stand_there()
    {
        Assert.True(Table.Count >= 20 && Texts.Count > 3000, $"{Table.Count} rows, {Texts.Count} texts");
        Assert.Superset(Table.SelectMany(r => r.Labels).ToHashSet(StringComparer.Ordinal), Texts);
        Assert.All(Table.SelectMany(r => r.Words), w => Assert.Contains(Texts, t => t.Contains(w, StringComparison.OrdinalIgnoreCase)));
        Assert.All(Table, r => Assert.True(r.Labels.Count + r.Words.Count > 0, r.What));
    }

    [Fact]
    public void No_text_has_another_word_for_it() => Assert.Empty(Texts.SelectMany(Wrong));

    /// <summary>Nor what a new shop's visitors read.</summary>
    [Fact]
    public void No_starting_text_has_another_word_for_it()
    {
        var starting = Repository.FilesUnder("src/LibraryShelf.Texts/languages/en", "*.md").ToList();
        Assert.Equal(3, starting.Count);
        Assert.Empty(starting.SelectMany(f => File.ReadAllLines(f).SelectMany(Wrong).Select(w => $"{Path.GetFileName(f)}: {w}")));
    }

    /// <summary>Whose shelf it is, visitors and members are not told: shops differ. In code and on the workbench the maker is she.</summary>
    [Fact]
    public void No_public_page_calls_the_maker_she_or_he()
    {
        var read = TextsInCode.All().Where(t => t.Place.Replace('\\', '/') is var p && (p.Contains("/Pages/Shelf/", StringComparison.Ordinal) || p.Contains("/Pages/Members/", StringComparison.Ordinal)))
            .Select(t => t.Key).ToList();
        Assert.True(read.Count > 500, $"{read.Count} texts");
        Assert.DoesNotContain(read, t => She().IsMatch(t));
        Assert.Matches(She(), "It stands before her.");
    }

    /// <summary>What a slip would look like, one of each kind: a word, one of several words, one with a hyphen, a sign, and at a sentence's beginning.</summary>
    [Theory]
    [InlineData("Look through the whole catalogue", "catalogue")]
    [InlineData("Read the release notes of {0}.", "release notes")]
    [InlineData("The key-off of {0} is cut", "key-off")]
    [InlineData("You are a member now!", "!")]
    [InlineData("Please read that line first.", "please")]
    [InlineData("Error: the folder can’t be read.", "error")]
    [InlineData("<a href=\"/subscribe\">Subscribe</a>", "subscribe")]
    public void A_slip_is_seen(string text, string word) => Assert.Equal($"“{text}”: “{word}”", Assert.Single(Wrong(text))[..(text.Length + word.Length + 6)]);

    /// <summary>The like of them that is meant: within a longer word or name, in an address, in what a machine reads.</summary>
    [Theory]
    [InlineData("List-Unsubscribe is left out: letters carry no List-Subscribe")]
    [InlineData("<a href=\"/workbench?ask=preview\">Call it off…</a>")]
    [InlineData("Its recordings are different, and shipped with <code>--demo</code>")]
    public void What_only_looks_like_one_is_none(string text) => Assert.Empty(Wrong(text));

    private static IEnumerable<string> Wrong(string text)
    {
        var said = Tags().Replace(text, " ");
        return from row in Table from Match slip in row.Never.Matches(said) select $"“{text}”: “{slip.Value.ToLowerInvariant()}” of {row.What}";
    }

    [GeneratedRegex("<code[^>]*>.*?</code>|</?[a-z][^>]*>", RegexOptions.Singleline, 1000)]
    private static partial Regex Tags();

    [GeneratedRegex(@"\b(she|he|hers?|his|him|herself|himself)\b", RegexOptions.IgnoreCase, 1000)]
    private static partial Regex She();

    private sealed record Row(string What, IReadOnlyList<string> Labels, IReadOnlyList<string> Words, Regex Never)
    {
        public static Row Read(string line)
        {
            var cells = line.Trim('|').Split('|', StringSplitOptions.TrimEntries);
            var called = cells[1].Split(", ");
            return new(cells[0], [.. called.Where(IsLabel).Select(c => c.Trim('`'))], [.. called.Where(c => !IsLabel(c))],
                new(string.Join('|', cells[2].Split(", ").Select(OneOf)), RegexOptions.IgnoreCase | RegexOptions.CultureInvariant, TimeSpan.FromSeconds(1)));
        }

        /// <summary>A sign anywhere; a word as a whole, in large letters or small ones.</summary>
        private static string OneOf(string never) => char.IsLetter(never[0]) ? $@"(?<![\w-]){Regex.Escape(never)}(?![\w-])" : Regex.Escape(never);

        private static bool IsLabel(string cell) => cell.StartsWith('`');
    }
}

using System.Globalization;
using LibraryShelf.Texts;

namespace LibraryShelf.Packaging.Tests.Texts;

/// <summary>Rules as Unicode's CLDR prints them (plural-rules.tsv), held against its own samples and against what ICU answers (plural-categories.tsv); both files name their source.</summary>
public sealed class PluralRulesTests
{
    private static readonly ILookup<string, (string Category, string Text)> Rules = Read("plural-rules.tsv"), Answers = Read("plural-categories.tsv");

    public static TheoryData<string> AllLanguages => [.. Rules.Select(r => r.Key)];

    public static TheoryData<string> TenLanguages => [.. Answers.Select(r => r.Key)];

    [Theory]
    [MemberData(nameof(AllLanguages))]
    public void Every_sample_of_CLDR_has_its_category(string language)
    {
        var rules = RulesOf(language);
        var samples = Rules[language].SelectMany(r => SamplesOf(r.Text).Select(s => (r.Category, Number: s))).ToList();
        Assert.NotEmpty(samples);
        Assert.Empty(samples.Where(s => rules.CategoryOf(s.Number) != s.Category).Select(s => $"{language} {s.Number}: {rules.CategoryOf(s.Number)}, not {s.Category}"));
    }

    [Theory]
    [MemberData(nameof(TenLanguages))]
    public void Whole_numbers_to_a_thousand_and_decimals_are_as_ICU_has_them(string language)
    {
        var rules = RulesOf(language);
        var answers = Answers[language].SelectMany(a => a.Text.Split(' ').SelectMany(NumbersOf).Select(n => (a.Category, Number: n))).ToList();
        // 1,001 whole numbers, 55 with decimals, four large ones.
        Assert.Equal(1_060, answers.Count);
        Assert.Empty(answers.Where(a => rules.CategoryOf(a.Number) != a.Category).Select(a => $"{language} {a.Number}: {rules.CategoryOf(a.Number)}, not {a.Category}"));
    }

    [Fact]
    public void Below_nothing_counts_as_above_it() => Assert.Equal("one", RulesOf("de").CategoryOf(-1));

    [Fact]
    public void Without_rules_every_number_is_other() => Assert.Equal("other", new PluralRules([]).CategoryOf(1));

    [Theory]
    [InlineData("k = 1")]
    [InlineData("n")]
    [InlineData("n is 1")]
    [InlineData("n = one")]
    [InlineData("n = 1..2..3")]
    [InlineData("n % 0 = 1")]
    [InlineData("n % 10 % 2 = 1")]
    [InlineData("n = 1 = 1")]
    [InlineData("n = 1 and")]
    public void What_is_no_rule_is_refused_with_its_category(string rule)
    {
        var refused = Assert.Throws<FormatException>(() => new PluralRules([KeyValuePair.Create("few", rule)]));
        Assert.StartsWith("The rule of “few” can’t be read: ", refused.Message, StringComparison.Ordinal);
    }

    internal static PluralRules RulesOf(string language) => new(Rules[language].Select(r => KeyValuePair.Create(r.Category, r.Text)));

    private static ILookup<string, (string Category, string Text)> Read(string file) => File.ReadLines(Path.Combine(AppContext.BaseDirectory, "Texts", file))
        .Where(line => !line.StartsWith('#')).Select(line => line.Split('\t')).ToLookup(cells => cells[0], cells => (cells[1], cells[2]), StringComparer.Ordinal);

    /// <summary>"@integer 0, 2~16, 100, … @decimal 0.0~0.9, …" (UTS #35 part 3, "Samples"); those of abbreviated numbers (1c6) are passed over.</summary>
    private static IEnumerable<decimal> SamplesOf(string rule) => rule.Split('@').Skip(1)
        .SelectMany(kind => kind[kind.IndexOf(' ', StringComparison.Ordinal)..].Split(',', StringSplitOptions.TrimEntries | StringSplitOptions.RemoveEmptyEntries))
        .Where(sample => sample != "…" && !sample.Contains('c', StringComparison.Ordinal)).SelectMany(sample => Between(sample.Split('~')));

    private static IEnumerable<decimal> NumbersOf(string range) => Between(range.Split(".."));

    /// <summary>In steps of the last place that is written, which stays written: 1.0 is another number than 1.</summary>
    private static IEnumerable<decimal> Between(string[] ends)
    {
        var (first, last) = (Number(ends[0]), Number(ends[^1]));
        var step = new decimal(1, 0, 0, isNegative: false, first.Scale);
        for (var number = first; number <= last; number += step)
            yield return number;
    }

    private static decimal Number(string text) => decimal.Parse(text, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture);
}

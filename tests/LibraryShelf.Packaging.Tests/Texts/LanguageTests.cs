using System.Text;
using LibraryShelf.Texts;

namespace LibraryShelf.Packaging.Tests.Texts;

/// <summary>A language's file: what it gives, and what is said of one that can't be read. Never spoken here, because a program speaks one language.</summary>
public sealed class LanguageTests
{
    private const string Polish = """
        "plurals": { "one": "i = 1 and v = 0", "few": "v = 0 and i % 10 = 2..4 and i % 100 != 12..14", "many": "v = 0 and i != 1 and i % 10 = 0..1 or v = 0 and i % 10 = 5..9 or v = 0 and i % 100 = 12..14" }
        """;

    [Fact]
    public void A_text_is_found_by_its_English_and_an_empty_one_is_not_done_yet()
    {
        var german = Read("""{ "language": "de", "texts": { "Sign in": "Anmelden", "Sign out": "" }, /* nothing is lost by a comment, */ }""");
        Assert.Equal("de", german.Tag);
        Assert.Equal(1, german.Count);
        Assert.Equal("Anmelden", german.Find("Sign in")!.Fill([]));
        Assert.Null(german.Find("Sign out"));
        Assert.Null(german.Find("sign in"));
    }

    [Fact]
    public void Holes_stand_in_any_order_and_twice_and_doubled_braces_are_braces()
    {
        var german = Read("""{ "language": "de", "texts": { "{0} of {1}": "Von {1} sind {0} da, {{ {1} }}" } }""");
        Assert.Equal("Von 7 sind 3 da, { 7 }", german.Find("{0} of {1}")!.Fill(["3", "7"], [3, 7]));
    }

    [Theory]
    [InlineData(1, "1 plik")]
    [InlineData(2, "2 pliki")]
    [InlineData(5, "5 plików")]
    [InlineData(12, "12 plików")]
    [InlineData(22, "22 pliki")]
    [InlineData(1000, "1000 plików")]
    public void The_first_number_chooses_the_form(int count, string expected)
    {
        var polish = Read($$$"""{ "language": "pl", {{{Polish}}}, "texts": { "{0}: {1} files": { "one": "{1} plik", "few": "{1} pliki", "many": "{1} plików", "other": "{1} pliku" } } }""");
        Assert.Equal(expected, polish.Find("{0}: {1} files")!.Fill(["a.wav", $"{count}"], ["a.wav", count]));
    }

    [Theory]
    [InlineData(1.5, "1,5 pliku")]
    [InlineData(double.NaN, "NaN plików")]
    [InlineData(double.PositiveInfinity, "∞ plików")]
    public void A_number_with_decimals_chooses_too_and_what_is_no_number_counts_as_nothing(double count, string expected)
    {
        var polish = Read($$$"""{ "language": "pl", {{{Polish}}}, "texts": { "{0} files": { "one": "{0} plik", "few": "{0} pliki", "many": "{0} plików", "other": "{0} pliku" } } }""");
        Assert.Equal(expected, polish.Find("{0} files")!.Fill([double.IsNaN(count) ? "NaN" : double.IsInfinity(count) ? "∞" : "1,5"], [count]));
    }

    [Fact]
    public void By_names_another_hole()
    {
        var german = Read("""
            { "language": "de", "plurals": { "one": "i = 1 and v = 0" }, "texts": {
              "{0} of {1} files": { "one": "{0} von einer Datei", "other": "{0} von {1} Dateien", "by": 1 } } }
            """);
        var files = german.Find("{0} of {1} files")!;
        Assert.Equal("1 von 3 Dateien", files.Fill(["1", "3"], [1, 3]));
        Assert.Equal("1 von einer Datei", files.Fill(["1", "1"], [1, 1L]));
    }

    [Theory]
    [InlineData(1, "1 nagranie czeka")]
    [InlineData(3, "3 nagrania czekają")]
    [InlineData(5, "5 nagrań czeka")]
    public void The_number_of_counted_things_chooses_too(int count, string expected)
    {
        var polish = Read($$$"""
            { "language": "pl", {{{Polish}}}, "texts": {
              "recording": { "one": "nagranie", "few": "nagrania", "many": "nagrań", "other": "nagrania" },
              "{0} wait": { "one": "{0} czeka", "few": "{0} czekają", "many": "{0} czeka", "other": "{0} czeka" } } }
            """);
        var recordings = new Counted(count, $"{count} {polish.Find("recording")!.Form(count)}");
        Assert.Equal(expected, polish.Find("{0} wait")!.Fill([recordings], [recordings]));
    }

    [Fact]
    public void Without_a_number_the_form_is_other_and_not_that_of_nothing()
    {
        var polish = Read($$$"""{ "language": "pl", {{{Polish}}}, "texts": { "{0} of {1}": { "one": "jeden", "few": "kilka", "many": "wiele", "other": "{0} z {1}", "by": 1 } } }""").Find("{0} of {1}")!;
        Assert.Equal("5 z 7 plików", polish.Fill(["5", "7 plików"], [5, "7 plików"]));
        Assert.Equal("5 z ", polish.Fill(["5"], [5]));
        Assert.Equal("wiele", polish.Fill(["5", "0"], [5, 0]));
    }

    [Fact]
    public void A_noun_is_its_form_alone() =>
        Assert.Equal(["nagranie", "nagrania", "nagrań"], new decimal[] { 1, 3, 11 }.Select(n =>
            Read($$"""{ "language": "pl", {{Polish}}, "texts": { "recording": { "one": "nagranie", "few": "nagrania", "many": "nagrań", "other": "nagrania" } } }""").Find("recording")!.Form(n)));

    [Fact]
    public void Forms_of_which_one_is_empty_are_not_done_yet_also_where_no_rule_names_them() =>
        Assert.Null(Read("""{ "language": "ja", "texts": { "recording": { "one": "", "other": "録音" } } }""").Find("recording"));

    [Fact]
    public void Months_days_and_signs_are_the_languages()
    {
        var culture = Read("""
            { "language": "de", "decimal": ",", "thousands": ".",
              "months": ["Januar", "Februar", "März", "April", "Mai", "Juni", "Juli", "August", "September", "Oktober", "November", "Dezember"],
              "shortMonths": ["Jan.", "Feb.", "März", "Apr.", "Mai", "Juni", "Juli", "Aug.", "Sept.", "Okt.", "Nov.", "Dez."],
              "days": ["Sonntag", "Montag", "Dienstag", "Mittwoch", "Donnerstag", "Freitag", "Samstag"] }
            """).Culture;
        Assert.Equal("Sonntag 1. März 2026", new DateOnly(2026, 3, 1).ToString("dddd d. MMMM yyyy", culture));
        Assert.Equal("Dez. März", new DateOnly(2026, 12, 1).ToString("MMM", culture) + " " + new DateOnly(2026, 3, 1).ToString("MMMM", culture));
        Assert.Equal("1.234,5", 1234.5m.ToString("N1", culture));
        Assert.True(culture.IsReadOnly);
    }

    [Fact]
    public void What_a_file_leaves_out_is_as_in_English()
    {
        var culture = Read("""{ "language": "de" }""").Culture;
        Assert.Equal("1 March 2026, 1,234.5", new DateOnly(2026, 3, 1).ToString("d MMMM yyyy", culture) + ", " + 1234.5m.ToString("N1", culture));
    }

    [Theory]
    [InlineData("[]", "It has no “language”, such as \"de\".")]
    [InlineData("{}", "It has no “language”, such as \"de\".")]
    [InlineData("""{ "language": "" }""", "It has no “language”, such as \"de\".")]
    [InlineData("""{ "language": "german language" }""", "“language” is “german language”, which is no language tag, such as \"de\".")]
    [InlineData("""{ "language": "de-" }""", "“language” is “de-”, which is no language tag, such as \"de\".")]
    [InlineData("""{ "language": "d", "texts": {} }""", "“language” is “d”, which is no language tag, such as \"de\".")]
    [InlineData("""{ "language": "de", "texts": { "{0} files": "{0} von {1} Dateien" } }""", "“{0} files” has no hole {1}, but its text in this language has one.")]
    [InlineData("""{ "language": "de", "texts": { "{{1}} and {0}": "{1}" } }""", "“{{1}} and {0}” has no hole {1}, but its text in this language has one.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "other": "{0} Dateien" } } }""", "“file” has no hole {0}, but its text in this language has one.")]
    [InlineData("""{ "language": "de", "texts": { "{0} files": { "other": "{0} Dateien", "by": 1 } } }""", "“by” of “{0} files” names the hole {1}, which it has not.")]
    [InlineData("""{ "language": "de", "plurals": { "one": "k = 1" } }""", "The rule of “one” can’t be read: k = 1")]
    [InlineData("""{ "language": "de", "months": ["Januar"] }""", "“months” must have 12 names.")]
    [InlineData("""{ "language": "de", "shortMonths": ["1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", ""] }""", "“shortMonths” must have 12 names.")]
    [InlineData("""{ "language": "de", "days": ["Montag"] }""", "“days” must have 7 names.")]
    [InlineData("""{ "language": "de", "plurals": { "one": "n = 1" }, "texts": { "file": { "one": "Datei" } } }""", "“file” has no form “other”.")]
    [InlineData("""{ "language": "de", "texts": { "file": {} } }""", "“file” has no form “other”.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "one": "Datei", "other": "Dateien" } } }""", "“file” has a form “one”, which no rule of “plurals” names.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "other": "Dateien", "other": "Datei" } } }""", "“file” has the form “other” twice.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "other": "Dateien", "by": "1" } } }""", "“by” of “file” is not the number of a hole, such as 1.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "other": "Dateien", "by": 0.5 } } }""", "“by” of “file” is not the number of a hole, such as 1.")]
    [InlineData("""{ "language": "de", "texts": { "file": { "other": "Dateien", "by": -1 } } }""", "“by” of “file” is not the number of a hole, such as 1.")]
    public void A_file_that_cant_be_read_is_refused_in_words(string file, string words) =>
        Assert.Equal(words, Assert.Throws<FormatException>(() => Read(file)).Message);

    [Theory]
    [InlineData("", "It is no JSON: ")]
    [InlineData("""{ "language": "de" """, "It is no JSON: ")]
    [InlineData("""{ "language": 7 }""", "Something in it has another form than it must have: ")]
    [InlineData("""{ "language": "de", "texts": [] }""", "Something in it has another form than it must have: ")]
    [InlineData("""{ "language": "de", "texts": { "file": 7 } }""", "Something in it has another form than it must have: ")]
    [InlineData("""{ "language": "de", "plurals": "one" }""", "Something in it has another form than it must have: ")]
    [InlineData("""{ "language": "de", "decimal": 1 }""", "Something in it has another form than it must have: ")]
    public void What_the_reader_of_JSON_says_stands_behind_ours(string file, string beginning) =>
        Assert.StartsWith(beginning, Assert.Throws<FormatException>(() => Read(file)).Message, StringComparison.Ordinal);

    private static Language Read(string file) => Language.Read(new MemoryStream(Encoding.UTF8.GetBytes(file)));
}

using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Tests.Comparisons;

public sealed class ReleaseNumberTests
{
    // Valid and invalid strings: the test list of the regular expression suggested in the SemVer 2.0.0 FAQ (semver.org), kept at
    // regex101.com/r/vkijKf/1. Order: SemVer 2.0.0 §11.2 to §11.4, the printed examples joined into one ascending chain.
    [Theory]
    [InlineData("0.0.4")]
    [InlineData("1.2.3")]
    [InlineData("10.20.30")]
    [InlineData("1.1.2-prerelease+meta")]
    [InlineData("1.1.2+meta")]
    [InlineData("1.1.2+meta-valid")]
    [InlineData("1.0.0-alpha")]
    [InlineData("1.0.0-beta")]
    [InlineData("1.0.0-alpha.beta")]
    [InlineData("1.0.0-alpha.beta.1")]
    [InlineData("1.0.0-alpha.1")]
    [InlineData("1.0.0-alpha0.valid")]
    [InlineData("1.0.0-alpha.0valid")]
    [InlineData("1.0.0-alpha-a.b-c-somethinglong+build.1-aef.1-its-okay")]
    [InlineData("1.0.0-rc.1+build.1")]
    [InlineData("2.0.0-rc.1+build.123")]
    [InlineData("1.2.3-beta")]
    [InlineData("10.2.3-DEV-SNAPSHOT")]
    [InlineData("1.2.3-SNAPSHOT-123")]
    [InlineData("1.0.0")]
    [InlineData("2.0.0")]
    [InlineData("1.1.7")]
    [InlineData("2.0.0+build.1848")]
    [InlineData("2.0.1-alpha.1227")]
    [InlineData("1.0.0-alpha+beta")]
    [InlineData("1.2.3----RC-SNAPSHOT.12.9.1--.12+788")]
    [InlineData("1.2.3----R-S.12.9.1--.12+meta")]
    [InlineData("1.2.3----RC-SNAPSHOT.12.9.1--.12")]
    [InlineData("1.0.0+0.build.1-rc.10000aaa-kk-0.1")]
    [InlineData("99999999999999999999999.999999999999999999.99999999999999999")]
    [InlineData("1.0.0-0A.is.legal")]
    public void Valid_numbers_are_read_and_print_as_they_were(string text) =>
        Assert.Equal(text, ReleaseNumber.TryParse(text)?.ToString());

    [Theory]
    [InlineData("1")]
    [InlineData("1.2")]
    [InlineData("1.2.3-0123")]
    [InlineData("1.2.3-0123.0123")]
    [InlineData("1.1.2+.123")]
    [InlineData("+invalid")]
    [InlineData("-invalid")]
    [InlineData("-invalid+invalid")]
    [InlineData("-invalid.01")]
    [InlineData("alpha")]
    [InlineData("alpha.beta")]
    [InlineData("alpha.beta.1")]
    [InlineData("alpha.1")]
    [InlineData("alpha+beta")]
    [InlineData("alpha_beta")]
    [InlineData("alpha.")]
    [InlineData("alpha..")]
    [InlineData("beta")]
    [InlineData("1.0.0-alpha_beta")]
    [InlineData("-alpha.")]
    [InlineData("1.0.0-alpha..")]
    [InlineData("1.0.0-alpha..1")]
    [InlineData("1.0.0-alpha...1")]
    [InlineData("1.0.0-alpha....1")]
    [InlineData("1.0.0-alpha.....1")]
    [InlineData("1.0.0-alpha......1")]
    [InlineData("1.0.0-alpha.......1")]
    [InlineData("01.1.1")]
    [InlineData("1.01.1")]
    [InlineData("1.1.01")]
    [InlineData("1.2.3.DEV")]
    [InlineData("1.2-SNAPSHOT")]
    [InlineData("1.2.31.2.3----RC-SNAPSHOT.12.09.1--..12+788")]
    [InlineData("1.2-RC-SNAPSHOT")]
    [InlineData("-1.0.3-gamma+b7718")]
    [InlineData("+justmeta")]
    [InlineData("9.8.7+meta+meta")]
    [InlineData("9.8.7-whatever+meta+meta")]
    [InlineData("99999999999999999999999.999999999999999999.99999999999999999----RC-SNAPSHOT.12.09.1--------------------------------..12")]
    // Ours: what a form or a regular expression with \d and $ would let through.
    [InlineData("")]
    [InlineData(" 1.2.3")]
    [InlineData("1.2.3 ")]
    [InlineData("1.2.3\n")]
    [InlineData("v1.2.3")]
    [InlineData("V1.2.3")]
    [InlineData("1.2.3.4")]
    [InlineData("1.2.٣")]
    [InlineData("1.2.3-é")]
    [InlineData(null)]
    public void Everything_else_is_refused(string? text) => Assert.Null(ReleaseNumber.TryParse(text));

    [Fact]
    public void The_printed_chain_ascends()
    {
        string[] chain =
        [
            "1.0.0-alpha", "1.0.0-alpha.1", "1.0.0-alpha.beta", "1.0.0-beta", "1.0.0-beta.2", "1.0.0-beta.11", "1.0.0-rc.1", "1.0.0", "2.0.0", "2.1.0", "2.1.1",
        ];
        var numbers = chain.Select(text => ReleaseNumber.TryParse(text)!).ToArray();
        for (var i = 0; i < numbers.Length; i++)
        {
            for (var j = 0; j < numbers.Length; j++)
                Assert.Equal(Math.Sign(i.CompareTo(j)), Math.Sign(ReleaseNumber.Compare(numbers[i], numbers[j])));
        }
    }

    // SemVer 2.0.0 §10: build metadata is ignored when determining precedence.
    [Theory]
    [InlineData("1.0.0+20130313144700", "1.0.0+21AF26D3")]
    [InlineData("1.0.0+20130313144700", "1.0.0")]
    public void Build_metadata_does_not_count(string left, string right) =>
        Assert.Equal(0, ReleaseNumber.Compare(ReleaseNumber.TryParse(left)!, ReleaseNumber.TryParse(right)!));

    [Fact]
    public void A_hundred_characters_is_the_limit()
    {
        var longest = "1.0.0-" + new string('a', ReleaseNumber.MostCharacters - 6);
        Assert.NotNull(ReleaseNumber.TryParse(longest));
        Assert.Null(ReleaseNumber.TryParse(longest + "a"));
    }
}

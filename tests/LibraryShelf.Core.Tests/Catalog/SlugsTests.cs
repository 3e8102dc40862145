using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Tests.Catalog;

public sealed class SlugsTests
{
    // Worked out by hand from the rule in Slugs: accents off, apostrophes gone, everything else one hyphen.
    [Theory]
    [InlineData("Jam-jar Marimba", "jam-jar-marimba")]
    [InlineData("  Sluice   Gate / Bass ", "sluice-gate-bass")]
    [InlineData("Café Tables", "cafe-tables")]
    [InlineData("Müller’s Größe", "mullers-grosse")]
    [InlineData("№ 7", "7")]
    [InlineData("鐘", "")]
    [InlineData("New", "new-library")]
    public void A_title_gives_its_slug(string title, string slug) => Assert.Equal(slug, Slugs.FromTitle(title));

    [Fact]
    public void A_long_title_is_cut_to_a_valid_slug()
    {
        var slug = Slugs.FromTitle(new string('a', 59) + " b");
        Assert.Equal(new string('a', 59), slug);
        Assert.True(Slugs.IsSlug(slug));
    }

    [Theory]
    [InlineData("a", true)]
    [InlineData("jam-jars-2", true)]
    [InlineData("", false)]
    [InlineData("new", false)]
    [InlineData("-a", false)]
    [InlineData("a-", false)]
    [InlineData("a--b", false)]
    [InlineData("A", false)]
    [InlineData("a/b", false)]
    [InlineData("a\n", false)]
    public void Only_small_letters_digits_and_single_hyphens_are_a_slug(string text, bool fine) =>
        Assert.Equal(fine, Slugs.IsSlug(text));
}

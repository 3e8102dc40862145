using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Tests.Mappings;

public sealed class CoverageTests
{
    [Fact]
    public void Keys_layers_and_takes_are_counted_per_key()
    {
        var coverage = Of("""
            <group> lokey=57 hikey=59
            <region> sample=a.wav hivel=64 seq_length=2 seq_position=1
            <region> sample=b.wav hivel=64 seq_length=2 seq_position=2
            <region> sample=c.wav lovel=65
            <group> key=62
            <region> sample=d.wav
            """);
        Assert.Equal([57, 58, 59, 62], coverage.Keys);
        Assert.Equal((2, 2, 0), (coverage.Layers, coverage.Takes, coverage.Lifts));
        Assert.Empty(coverage.MissingTakes);
    }

    [Fact]
    public void Takes_by_chance_count_and_two_microphones_that_sound_together_do_not()
    {
        Assert.Equal(3, Of("<group> key=60\n<region> sample=a hirand=0.3\n<region> sample=b lorand=0.3 hirand=0.6\n<region> sample=c lorand=0.6").Takes);
        Assert.Equal(1, Of("<group> key=60\n<region> sample=near.wav\n<region> sample=far.wav pan=50").Takes);
    }

    [Fact]
    public void Lifts_and_muted_regions_give_no_keys()
    {
        var coverage = Of("<region> sample=a key=60\n<region> sample=b key=61 trigger=release\n<region> sample=c key=62 end=-1\n<region> sample=d lokey=-1 hikey=-1\n<region> key=63");
        Assert.Equal([60], coverage.Keys);
        Assert.Equal(1, coverage.Lifts);
    }

    [Fact]
    public void A_turn_without_a_take_is_told()
    {
        var missing = Assert.Single(Of("<group> key=60 seq_length=3\n<region> sample=a seq_position=1\n<region> sample=b seq_position=3").MissingTakes);
        Assert.Equal((60, 1, 127), (missing.Key, missing.LowVelocity, missing.HighVelocity));
        Assert.Equal([2], missing.Positions);
    }

    [Fact]
    public void Turns_go_round_each_regions_own_length() =>
        Assert.Empty(Of("<group> key=60\n<region> sample=a seq_length=2 seq_position=1\n<region> sample=b seq_length=4 seq_position=2\n<region> sample=c seq_length=4 seq_position=4").MissingTakes);

    [Theory]
    [InlineData(new[] { "Jar.sfz" }, new string[0])]
    [InlineData(new[] { "Jar - bowed.sfz", "Jar - struck.sfz" }, new[] { "bowed", "struck" })]
    [InlineData(new[] { "Jar.sfz", "Jar - bowed.sfz" }, new[] { "Jar", "Jar - bowed" })]
    [InlineData(new[] { "bowed/Jar.sfz", "struck/Jar.sfz" }, new[] { "bowed/Jar", "struck/Jar" })]
    [InlineData(new[] { "Bowed.sfz", "Struck, soft.sfz" }, new[] { "Bowed", "Struck  soft" })]
    public void Several_mappings_are_ways_of_playing(string[] paths, string[] names) => Assert.Equal(names, Articulations.NamesOf(paths));

    private static Coverage Of(string text) => Coverage.Of(SfzParser.Parse("x.sfz", text, _ => null, new MappingBudget()));
}

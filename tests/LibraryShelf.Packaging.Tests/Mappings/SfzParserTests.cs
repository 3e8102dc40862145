using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Tests.Mappings;

public sealed class SfzParserTests
{
    [Fact]
    public void A_region_without_more_has_the_defaults()
    {
        var region = Assert.Single(Parse("<region> sample=a.wav").Regions);
        Assert.Equal("a.wav", region.Sample);
        Assert.Equal((0, 127, 60, 1, 127), (region.LowKey, region.HighKey, region.KeyCenter, region.LowVelocity, region.HighVelocity));
        Assert.Equal((1, 1, 0d, 1d, SfzTrigger.Attack), (region.SequenceLength, region.SequencePosition, region.LowRandom, region.HighRandom, region.Trigger));
    }

    [Fact]
    public void Regions_inherit_from_group_and_global_and_override()
    {
        var mapping = Parse("""
            <global> hivel=64
            <group> lokey=50 hikey=52 trigger=release
            <region> sample=a.wav
            <region> sample=b.wav hikey=60 hivel=100
            <group> seq_length=2
            <region> sample=c.wav
            """);
        Assert.Equal([(50, 52, 64, 1), (50, 60, 100, 1), (0, 127, 64, 2)], mapping.Regions.Select(r => (r.LowKey, r.HighKey, r.HighVelocity, r.SequenceLength)));
        Assert.Equal([SfzTrigger.Release, SfzTrigger.Release, SfzTrigger.Attack], mapping.Regions.Select(r => r.Trigger));
    }

    [Fact]
    public void Key_sets_three_opcodes_and_later_ones_override()
    {
        var region = Assert.Single(Parse("<region> sample=a.wav key=c#4 pitch_keycenter=60").Regions);
        Assert.Equal((61, 61, 60), (region.LowKey, region.HighKey, region.KeyCenter));
    }

    [Theory]
    [InlineData("<region> sample=My jar (soft) A3.wav lokey=57", "My jar (soft) A3.wav")]
    [InlineData("<region> lokey=57 sample=My jar.wav", "My jar.wav")]
    [InlineData("<region>sample=a b.wav<region>sample=c.wav", "a b.wav")]
    [InlineData("<region> sample=Deep\\er\\a.wav // the jar", "Deep/er/a.wav")]
    [InlineData("<region> sample=./x//../a.wav", "x")] // the comment begins at //
    [InlineData("<region>\r\nsample=a.wav\r\nkey=60", "a.wav")]
    [InlineData("<control> default_path=../Samples/\n<region> sample=a.wav", "Samples/a.wav")]
    public void Sample_paths_may_hold_spaces_and_either_slash(string text, string expected)
    {
        var path = text.Contains("default_path", StringComparison.Ordinal) ? "Mappings/jar.sfz" : "jar.sfz";
        Assert.Equal(expected, SfzParser.Parse(path, text, _ => null, new MappingBudget()).Regions[0].Sample);
    }

    [Theory]
    [InlineData("<region> sample=../a.wav")]
    [InlineData("<region> sample=/etc/a.wav")]
    [InlineData("<region> sample=C:\\a.wav")]
    [InlineData("<region> sample=\\\\host\\a.wav")]
    public void Paths_that_leave_the_folder_have_no_sample(string text)
    {
        var region = Assert.Single(Parse(text).Regions);
        Assert.Null(region.Sample);
        Assert.NotNull(region.SampleText);
    }

    [Fact]
    public void Default_path_holds_from_where_it_stands() =>
        Assert.Equal(
            ["one/a.wav", "two/a.wav"],
            Parse("<control> default_path=one/\n<region> sample=a.wav\n<control> default_path=two/\n<region> sample=a.wav").Regions.Select(r => r.Sample));

    [Fact]
    public void Comments_of_both_kinds_are_passed_over_and_lines_counted()
    {
        var mapping = Parse("// see Samples/*.wav\n/* two\nlines */\n<region> sample=a.wav\n<region> sample=b.wav");
        Assert.Equal([4, 5], mapping.Regions.Select(r => r.Line));
        Assert.Empty(mapping.Problems);
    }

    [Theory]
    [InlineData("/* never closed <region> sample=b.wav", 0)]
    [InlineData("/*/ <region> sample=b.wav", 0)]
    [InlineData("/**/<region> sample=b/c.wav", 1)]
    [InlineData("// <region> sample=b.wav /*\n<region> sample=c.wav", 1)]
    [InlineData("<region> sample=b.wav/", 1)]
    public void Comments_end_where_they_end(string text, int regions) => Assert.Equal(regions, Parse(text).Regions.Count);

    [Fact]
    public void Any_mixture_of_pieces_is_read_without_an_exception()
    {
        string[] pieces = ["<region>", "<group>", "<", ">", "sample=", "a b.wav", "lokey=", "60", "//", "/*", "*/", "\n", " ", "=", "$A", "#define $A 1", "#include \"x\"", "\0", "\U0001F3B9", "-", "seq_length=9"];
        var random = new Random(20261125);
        for (var round = 0; round < 3000; round++)
        {
            var mapping = Parse(string.Concat(Enumerable.Range(0, random.Next(40)).Select(_ => pieces[random.Next(pieces.Length)])));
            Assert.True(Coverage.Of(mapping).Keys.Count <= 128);
        }
    }

    [Fact]
    public void Unknown_names_are_listed_once_and_do_no_harm()
    {
        var mapping = Parse("<group> foo=1\n<region> sample=a.wav foo=2 lokey=x\n<curve>v000=0");
        Assert.Single(mapping.Regions);
        Assert.Equal(
            [(SfzProblemKind.UnknownOpcode, "foo", 1), (SfzProblemKind.UnreadableValue, "lokey=x", 2), (SfzProblemKind.UnknownHeader, "curve", 3)],
            mapping.Problems.Select(p => (p.Kind, p.Text, p.Line)));
        Assert.Equal(0, mapping.Regions[0].LowKey);
    }

    [Fact]
    public void Stray_text_is_said()
    {
        var problem = Assert.Single(Parse("<region> sample=a.wav\nhello there").Problems);
        Assert.Equal((SfzProblemKind.StrayText, "hello there", 2), (problem.Kind, problem.Text, problem.Line));
    }

    [Fact]
    public void Define_is_replaced_longest_name_first()
    {
        var mapping = Parse("#define $KEY 60\n#define $KEY_HIGH 72\n<region> sample=a$KEY.wav lokey=$KEY hikey=$KEY_HIGH");
        Assert.Equal(("a60.wav", 60, 72), (mapping.Regions[0].Sample, mapping.Regions[0].LowKey, mapping.Regions[0].HighKey));
    }

    [Fact]
    public void Include_is_put_in_place_relative_to_the_mapping()
    {
        var mapping = SfzParser.Parse(
            "Maps/jar.sfz", "<group> lokey=50\n#include \"parts/soft.txt\"\n<region> sample=b.wav",
            path => path == "Maps/parts/soft.txt" ? "<region> sample=a.wav" : null,
            new MappingBudget());
        Assert.Equal(["Maps/a.wav", "Maps/b.wav"], mapping.Regions.Select(r => r.Sample));
        Assert.Equal(50, mapping.Regions[0].LowKey);
        Assert.Equal(["Maps/parts/soft.txt"], mapping.Includes);
        Assert.Equal("Maps/parts/soft.txt", mapping.Regions[0].File);
    }

    [Theory]
    [InlineData("#include \"../../x.sfz\"", SfzProblemKind.IncludeOutside)]
    [InlineData("#include \"/etc/passwd\"", SfzProblemKind.IncludeOutside)]
    [InlineData("#include \"jar.sfz\"", SfzProblemKind.IncludeLoop)]
    [InlineData("#include \"none.sfz\"", SfzProblemKind.IncludeMissing)]
    public void Includes_that_leave_loop_or_miss_are_refused(string text, SfzProblemKind expected) =>
        Assert.Equal(expected, Assert.Single(SfzParser.Parse("jar.sfz", text, p => p == "jar.sfz" ? text : null, new MappingBudget()).Problems).Kind);

    [Fact]
    public void An_include_that_fans_out_ends()
    {
        var files = 0;
        var mapping = SfzParser.Parse("0", "#include \"1\"\n#include \"1\"", path =>
        {
            files++;
            var next = int.Parse(path, System.Globalization.CultureInfo.InvariantCulture) + 1;
            return $"#include \"{next}\"\n#include \"{next}\"";
        }, new MappingBudget());
        Assert.True(files <= SfzLines.MaxIncludes);
        Assert.Contains(mapping.Problems, p => p.Kind == SfzProblemKind.TooLarge);
    }

    [Fact]
    public void Too_many_lines_and_define_bombs_are_bounded()
    {
        var many = Parse(string.Concat(Enumerable.Repeat("<region>\n", SfzLines.MaxLines + 5)));
        Assert.Contains(many.Problems, p => p.Kind == SfzProblemKind.TooLarge);
        Assert.Equal(SfzParser.MaxRegions, many.Regions.Count);
        var bomb = Parse($"#define $A {new string('x', 10_000)}\n<region> sample={string.Concat(Enumerable.Repeat("$A", 1000))}");
        Assert.Contains(bomb.Problems, p => p.Kind == SfzProblemKind.TooLarge);
    }

    [Fact]
    public void Text_is_UTF8_or_else_Latin_1()
    {
        Assert.Equal("é", MappingText.Decode([0xEF, 0xBB, 0xBF, 0xC3, 0xA9]));
        Assert.Equal("é", MappingText.Decode([0xE9]));
        Assert.Null(MappingText.Read(new MemoryStream(new byte[MappingText.MaxBytes + 1])));
    }

    private static SfzMapping Parse(string text) => SfzParser.Parse("jar.sfz", text, _ => null, new MappingBudget());
}

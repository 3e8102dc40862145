using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Tests.Mappings;

// Defaults of SFZ version 1: sfz/sfz.github.io at 599c8c9, _data/sfz/syntax.yml (CC0). An empty default: none, or it depends on the file.
public sealed class SfzOpcodesTests
{
    [Theory]
    [InlineData("sample", "")]
    [InlineData("lochan", "1")]
    [InlineData("hichan", "16")]
    [InlineData("lokey", "0")]
    [InlineData("hikey", "127")]
    [InlineData("key", "")]
    [InlineData("pitch_keycenter", "60")]
    [InlineData("lovel", "1")]
    [InlineData("hivel", "127")]
    [InlineData("lorand", "0")]
    [InlineData("hirand", "1")]
    [InlineData("seq_length", "1")]
    [InlineData("seq_position", "1")]
    [InlineData("trigger", "attack")]
    [InlineData("group", "0")]
    [InlineData("off_by", "0")]
    [InlineData("off_mode", "fast")]
    [InlineData("delay", "0")]
    [InlineData("offset", "0")]
    [InlineData("end", "")]
    [InlineData("count", "0")]
    [InlineData("loop_mode", "")]
    [InlineData("loop_start", "")]
    [InlineData("loop_end", "")]
    [InlineData("transpose", "0")]
    [InlineData("tune", "0")]
    [InlineData("pitch_keytrack", "100")]
    [InlineData("bend_up", "200")]
    [InlineData("bend_down", "-200")]
    [InlineData("volume", "0")]
    [InlineData("pan", "0")]
    [InlineData("width", "100")]
    [InlineData("amp_veltrack", "100")]
    [InlineData("amp_keytrack", "0")]
    [InlineData("amp_keycenter", "60")]
    [InlineData("ampeg_delay", "0")]
    [InlineData("ampeg_attack", "0")]
    [InlineData("ampeg_hold", "0")]
    [InlineData("ampeg_decay", "0")]
    [InlineData("ampeg_sustain", "100")]
    [InlineData("ampeg_release", "0.001")]
    public void Each_opcode_is_known_with_its_default(string name, string expected) =>
        Assert.Equal(expected, SfzOpcodes.Find(name)!.Default ?? "");

    [Fact]
    public void Defaults_are_readable_and_within_bounds() =>
        Assert.All(SfzOpcodes.All.Where(o => o.Default is not null), o => Assert.True(o.TryRead(o.Default!, out _), o.Name));

    [Theory]
    [InlineData("lokey", "c#4", true, 61)]
    [InlineData("lokey", "-1", true, -1)]
    [InlineData("lokey", "128", false, 128)]
    [InlineData("lokey", "H3", false, 0)]
    [InlineData("seq_length", "0", false, 0)]
    [InlineData("seq_length", "2.5", false, 2.5)]
    [InlineData("hirand", "0.5", true, 0.5)]
    [InlineData("hirand", "NaN", false, double.NaN)]
    [InlineData("trigger", "release", true, 0)]
    [InlineData("trigger", "Release", false, 0)]
    [InlineData("lovel", "0", true, 0)] // other transcriptions of the text begin at 0
    public void Values_are_read_within_bounds(string opcode, string text, bool isFine, double value)
    {
        Assert.Equal(isFine, SfzOpcodes.Find(opcode)!.TryRead(text, out var number));
        Assert.Equal(value, number);
    }

    [Theory]
    [InlineData("locc64", true)]
    [InlineData("cutoff_cc74", true)]
    [InlineData("amp_velcurve_90", true)]
    [InlineData("fileg_vel2attack", true)]
    [InlineData("ampeg_attackcc73", true)]
    [InlineData("pitchlfo_freqpolyaft", true)]
    [InlineData("eq2_gaincc12", true)]
    [InlineData("eq4_gain", false)]
    [InlineData("lfo01_freq", false)]
    [InlineData("sampel", false)]
    public void Names_of_version_1_are_known(string opcode, bool isKnown) => Assert.Equal(isKnown, SfzNames.IsKnown(opcode));
}

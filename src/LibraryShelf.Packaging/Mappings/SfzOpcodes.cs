using Kind = LibraryShelf.Packaging.Mappings.SfzValueKind;

namespace LibraryShelf.Packaging.Mappings;

/// <summary>
/// The opcodes of SFZ version 1 whose values are read. Defaults and ranges: sfz/sfz.github.io, _data/sfz/syntax.yml (CC0).
/// lovel is 1 there; other transcriptions of the first text say 0.
/// </summary>
public static class SfzOpcodes
{
    private const double MostSamples = 4294967296;

    private static readonly Dictionary<string, SfzOpcode> ByName = new SfzOpcode[]
    {
        new("sample", Kind.Path, null),
        new("lochan", Kind.Whole, "1", 1, 16),
        new("hichan", Kind.Whole, "16", 1, 16),
        new("lokey", Kind.Note, "0", -1, 127),
        new("hikey", Kind.Note, "127", -1, 127),
        new("key", Kind.Note, null, -1, 127),
        new("pitch_keycenter", Kind.Note, "60", -127, 127),
        new("lovel", Kind.Whole, "1", 0, 127),
        new("hivel", Kind.Whole, "127", 0, 127),
        new("lorand", Kind.Decimal, "0", 0, 1),
        new("hirand", Kind.Decimal, "1", 0, 1),
        new("seq_length", Kind.Whole, "1", 1, 100),
        new("seq_position", Kind.Whole, "1", 1, 100),
        new("trigger", Kind.Word, "attack", Words: ["attack", "release", "first", "legato"]),
        new("group", Kind.Whole, "0", 0, MostSamples),
        new("off_by", Kind.Whole, "0", 0, MostSamples),
        new("off_mode", Kind.Word, "fast", Words: ["fast", "normal"]),
        new("delay", Kind.Decimal, "0", 0, 100),
        new("offset", Kind.Whole, "0", 0, MostSamples),
        new("end", Kind.Whole, null, -1, MostSamples),
        new("count", Kind.Whole, "0", 0, MostSamples),
        new("loop_mode", Kind.Word, null, Words: ["no_loop", "one_shot", "loop_continuous", "loop_sustain"]),
        new("loop_start", Kind.Whole, null, 0, MostSamples),
        new("loop_end", Kind.Whole, null, 0, MostSamples),
        new("transpose", Kind.Whole, "0", -127, 127),
        new("tune", Kind.Whole, "0", -100, 100),
        new("pitch_keytrack", Kind.Decimal, "100", -1200, 1200),
        new("bend_up", Kind.Whole, "200", -9600, 9600),
        new("bend_down", Kind.Whole, "-200", -9600, 9600),
        new("volume", Kind.Decimal, "0", -144, 6),
        new("pan", Kind.Decimal, "0", -100, 100),
        new("width", Kind.Decimal, "100", -100, 100),
        new("amp_veltrack", Kind.Decimal, "100", -100, 100),
        new("amp_keytrack", Kind.Decimal, "0", -96, 12),
        new("amp_keycenter", Kind.Note, "60", -127, 127),
        new("ampeg_delay", Kind.Decimal, "0", 0, 100),
        new("ampeg_attack", Kind.Decimal, "0", 0, 100),
        new("ampeg_hold", Kind.Decimal, "0", 0, 100),
        new("ampeg_decay", Kind.Decimal, "0", 0, 100),
        new("ampeg_sustain", Kind.Decimal, "100", 0, 100),
        new("ampeg_release", Kind.Decimal, "0.001", 0, 100),
    }.ToDictionary(o => o.Name, StringComparer.Ordinal);

    public static IReadOnlyCollection<SfzOpcode> All => ByName.Values;

    public static SfzOpcode? Find(string name) => ByName.GetValueOrDefault(name);
}

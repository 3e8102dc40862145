using System.Diagnostics;
using System.Text;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Packaging.Tests.Mappings;

/// <summary>Mappings made to do harm: each ends, within bounds, with a finding that names it.</summary>
public sealed class HostileMappingTests
{
    /// <summary>Bytes; most of it short-lived text.</summary>
    private const long MostAllocated = 1536L << 20;

    private const string Good = "<region> sample=a.wav\n";

    /// <summary>The folder's mapping files by name; a.sfz is the one that is opened.</summary>
    public static TheoryData<string, Dictionary<string, string>, string> Bombs() => new()
    {
        { "includes itself", new() { ["a.sfz"] = "#include \"a.sfz\"\n" + Good }, "includes “a.sfz”, which includes itself" },
        { "a includes b includes a", new() { ["a.sfz"] = "#include \"b.inc\"\n" + Good, ["b.inc"] = "#include \"a.sfz\"\n" }, "Line 1 of “b.inc” includes “a.sfz”, which includes itself" },
        { "goes too deep", Chain(40), "goes too deep" },
        { "each includes the next twice", Doubling(15), "more than 200 #include" },
        { "includes a large file again and again", new() { ["a.sfz"] = Repeat("#include \"b.inc\"\n", 150) + Good, ["b.inc"] = Repeat("// " + new string('x', 9000) + "\n", 1500) }, "32 MiB" },
        { "leaves the folder", new() { ["a.sfz"] = "#include \"../../etc/passwd\"\n" + Good }, "outside the folder" },
        { "10 MB on one line", new() { ["a.sfz"] = Good + "<region> sample=" + new string('x', 10 << 20) + "\n" }, "a line of more than" },
        { "10 MB of opcodes on one line", new() { ["a.sfz"] = Good + "<region> " + Repeat("key=60 ", (10 << 20) / 7) + "\n" }, "a line of more than" },
        { "#define that grows", new() { ["a.sfz"] = Growing() + Good + "<region> sample=$aaaaaaaa\n" }, "#define makes too long" },
        { "many #define over many lines", new() { ["a.sfz"] = Defines(1000) + Good + Repeat("<region> key=$zz\n", 150_000) }, "more #define than can be replaced" },
        { "a header that every region inherits", new() { ["a.sfz"] = "<global>\n" + Repeat(i => $"opcode{i}=1\n", 4000) + Repeat("<region> sample=a.wav\n", 20_000) }, "opcodes in its regions" },
        { "many mappings that each keep within bounds", new(Enumerable.Range(0, 60).ToDictionary(i => i == 59 ? "a.sfz" : $"A{i}.sfz",
            _ => "<global>\n" + Repeat(i => $"opcode{i}=1\n", 4000) + Repeat("<region> sample=a.wav\n", 900), StringComparer.Ordinal)), "with the folder’s other mappings more than 4000000 opcodes" },
        { "many mappings whose #define grow", new(Enumerable.Range(0, 60).ToDictionary(i => i == 59 ? "a.sfz" : $"A{i}.sfz",
            _ => "#define $a " + new string('x', 16_000) + "\n" + Repeat("<region> sample=$a\n", 2000), StringComparer.Ordinal)), "with the folder’s other mappings more than 64 MiB once #define is replaced" },
        { "many mappings of many letters", new(Enumerable.Range(0, 12).ToDictionary(i => i == 11 ? "a.sfz" : $"A{i}.sfz",
            _ => Repeat("// " + new string('x', 9000) + "\n", 1500) + Good, StringComparer.Ordinal)), "with the folder’s other mappings more than 64 MiB" },
        { "NUL bytes", new() { ["a.sfz"] = Good + "\0\0\0" }, "NUL" },
    };

    [Theory, MemberData(nameof(Bombs), DisableDiscoveryEnumeration = true)]
    public void It_ends_within_bounds_and_is_named(string what, Dictionary<string, string> files, string words)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        var watch = Stopwatch.StartNew();
        var sheet = Judge(files.ToDictionary(f => f.Key, f => Encoding.UTF8.GetBytes(f.Value), StringComparer.Ordinal));
        Assert.True(watch.Elapsed < TimeSpan.FromSeconds(60), $"{what}: {watch.Elapsed}");
        // All that was ever allocated by this one thread, which does it all: what is held at the worst moment can't be more. Sixty mappings, each within its own bounds, were eight gigabytes.
        Assert.InRange(GC.GetAllocatedBytesForCurrentThread() - before, 0, MostAllocated);
        Assert.Contains(sheet.Findings, f => f.Path == "a.sfz" && f.Severity == Severity.MustFix && f.Message.Contains(words, StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(new byte[] { 0xFF, 0xFE }, false)]
    [InlineData(new byte[] { 0xFE, 0xFF }, true)]
    public void A_mapping_in_UTF_16_is_said_to_be_no_UTF_8(byte[] mark, bool isBigEndian)
    {
        var text = new UnicodeEncoding(isBigEndian, byteOrderMark: false).GetBytes(Good);
        var found = Judge(new() { ["a.sfz"] = [.. mark, .. text] }).Findings.Single(f => f.Code == FindingCodes.MappingUnreadable);
        Assert.Equal("a.sfz", found.Path);
        Assert.Contains("UTF-8", found.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Bytes_that_are_no_UTF_8_are_read_as_older_editors_wrote_them() =>
        Assert.DoesNotContain(Judge(new() { ["a.sfz"] = [.. Encoding.UTF8.GetBytes("// "), 0xE4, 0xFF, .. Encoding.UTF8.GetBytes("\n" + Good)] }).Findings,
            f => f.Code is FindingCodes.MappingUnreadable or FindingCodes.MappingMissingFile);

    [Fact]
    public void A_mapping_larger_than_is_read_is_named() =>
        Assert.Contains(Judge(new() { ["a.sfz"] = new byte[MappingText.MaxBytes + 1] }).Findings,
            f => f.Code == FindingCodes.MappingUnreadable && f.Path == "a.sfz");

    /// <summary>A library card is a paper like any other: kept, not read.</summary>
    [Fact]
    public void A_deep_library_card_is_kept_unread() =>
        Assert.DoesNotContain(Judge(new() { ["a.sfz"] = Encoding.UTF8.GetBytes(Good), ["library.json"] = Encoding.UTF8.GetBytes(new string('[', 100_000)) }).Findings,
            f => f.Path == "library.json");

    private static CheckSheet Judge(Dictionary<string, byte[]> files) => FolderCheck.Judge(new FolderToJudge(
        [new FolderFile("a.wav", 1), .. files.Select(f => new FolderFile(f.Key, f.Value.Length))],
        new Dictionary<string, Audio.RecordingFacts>(),
        path => files.TryGetValue(path, out var bytes) ? MappingText.Read(new MemoryStream(bytes)) : null,
        IsPitched: true));

    private static string Repeat(string text, int times) => Repeat(_ => text, times);

    private static string Repeat(Func<int, string> text, int times) => string.Concat(Enumerable.Range(0, times).Select(text));

    private static Dictionary<string, string> Chain(int length)
    {
        var files = Enumerable.Range(0, length).ToDictionary(i => $"{i}.inc", i => $"#include \"{i + 1}.inc\"\n", StringComparer.Ordinal);
        files["a.sfz"] = "#include \"0.inc\"\n" + Good;
        return files;
    }

    private static Dictionary<string, string> Doubling(int depth)
    {
        var files = Enumerable.Range(0, depth).ToDictionary(i => $"{i}.inc", i => Repeat($"#include \"{i + 1}.inc\"\n", 2), StringComparer.Ordinal);
        files[$"{depth}.inc"] = "<region>\n";
        files["a.sfz"] = "#include \"0.inc\"\n" + Good;
        return files;
    }

    /// <summary>Longer names are replaced first: each stands for ten of the next shorter one, 10^8 letters in the end.</summary>
    private static string Growing() => Repeat(i => $"#define {Name(i)} {(i == 7 ? "0123456789" : Repeat(Name(i + 1), 10))}\n", 8);

    private static string Name(int i) => "$" + new string((char)('a' + i), 8 - i);

    private static string Defines(int count) => Repeat(i => $"#define $name{i} 1\n", count);
}

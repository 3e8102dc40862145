using System.Security.Cryptography;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class ChecksumListTests
{
    // SHA-256 of the empty message: NIST CAVP, SHA256ShortMsg.rsp, Len = 0.
    private const string Empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";

    private static readonly string[] OddNames =
        ["plain.wav", " leading", "trailing ", "*star", "#hash", "a\\b", "line\nfeed", "return\rhere", "\\n", "鈴 🔔", "quote'\"s"];

    [Fact]
    public void Sha256sum_accepts_our_list_and_writes_the_same_one()
    {
        using var folder = new TemporaryFolder();
        foreach (var name in OddNames)
            File.WriteAllText(folder.File(name), name);
        var list = ChecksumList.Write(OddNames.Select(name => new ListedChecksum(name, HashOf(name))));
        using var elsewhere = new TemporaryFolder();
        File.WriteAllText(elsewhere.File("list"), list);

        var verdict = OutsideTool.Run(folder.Path, "sha256sum", "--strict", "-c", elsewhere.File("list"));
        Assert.Equal(OddNames.Length, verdict.Split('\n').Count(line => line.EndsWith(": OK", StringComparison.Ordinal)));
        // Version 9.1 does not yet escape a carriage return when it writes, though it reads the escape.
        var own = OutsideTool.Run(folder.Path, "sha256sum", [.. OddNames.Where(n => !n.Contains('\r')).Order(StringComparer.Ordinal).Select(n => n)]);
        Assert.Equal(own, string.Concat(list.Split('\n').Where(l => !l.Contains("\\r")).Select(l => l + "\n"))[..^1]);
        Assert.Equal(OddNames.Order(StringComparer.Ordinal), ChecksumList.Read(list).Select(l => l.Path));
    }

    [Fact]
    public void What_sha256sum_reads_is_read()
    {
        var read = ChecksumList.Read($"# a comment\n\n{Empty}  a b\r\n{Empty.ToUpperInvariant()} *binary\n\\{Empty}  x\\\\y\\nz\n");
        Assert.Equal([new("a b", Empty), new("binary", Empty), new("x\\y\nz", Empty)], read);
    }

    [Theory]
    [InlineData("hello")]
    [InlineData(Empty)]
    [InlineData(Empty + "  ")]
    [InlineData(Empty + " a")]
    [InlineData("g" + "3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  a")]
    [InlineData("\\" + Empty + "  a\\")]
    [InlineData("\\" + Empty + "  a\\t")]
    public void Anything_else_names_its_line(string line) =>
        Assert.StartsWith("Line 2 ", Assert.Throws<FormatException>(() => ChecksumList.Read($"{Empty}  fine\n{line}\n")).Message);

    private static string HashOf(string text) => Convert.ToHexStringLower(SHA256.HashData(System.Text.Encoding.UTF8.GetBytes(text)));
}

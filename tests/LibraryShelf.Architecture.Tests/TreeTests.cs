using System.Text.RegularExpressions;

namespace LibraryShelf.Architecture.Tests;

/// <summary>What a reader may expect of every file.</summary>
public sealed class TreeTests
{
    private const int LongestFile = 400;

    [Fact]
    public void No_file_is_longer_than_a_reader_can_hold()
    {
        var long_ = SourceFiles()
            .Select(file => (file, lines: File.ReadLines(file).Count()))
            .Where(f => f.lines > LongestFile)
            .Select(f => $"{Path.GetRelativePath(Repository.Root, f.file)}: {f.lines} lines");
        Assert.Empty(long_);
    }

    [Fact]
    public void Pages_carry_nothing_a_strict_content_policy_would_block()
    {
        var inline = new Regex("<style|\\sstyle=\"|\\son[a-z]+=\"|<script(?![^>]*\\bsrc=)[^>]*>", RegexOptions.IgnoreCase, TimeSpan.FromSeconds(2));
        var wrong = Repository.FilesUnder("src", "*.cshtml").Where(file => inline.IsMatch(File.ReadAllText(file)))
            .Select(file => Path.GetRelativePath(Repository.Root, file));
        Assert.Empty(wrong);
    }

    [Fact]
    public void Nothing_is_left_unfinished()
    {
        var marks = new Regex(@"\b(TODO|FIXME|HACK|NotImplementedException)\b|Skip\s*=\s*""", RegexOptions.None, TimeSpan.FromSeconds(2));
        var wrong = SourceFiles().Where(file => !file.EndsWith("TreeTests.cs", StringComparison.Ordinal))
            .Where(file => marks.IsMatch(File.ReadAllText(file)))
            .Select(file => Path.GetRelativePath(Repository.Root, file));
        Assert.Empty(wrong);
    }

    private static IEnumerable<string> SourceFiles() =>
        new[] { "*.cs", "*.cshtml", "*.css", "*.js", "*.mjs" }.SelectMany(pattern =>
            Repository.FilesUnder("src", pattern).Concat(Repository.FilesUnder("tests", pattern)));
}

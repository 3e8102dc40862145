using System.Reflection;
using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Tests.Membership;

/// <summary>Each promise of docs/membership.md names the tests that hold it, and they are there.</summary>
public sealed partial class PromisesTests
{
    [Fact]
    public void Each_promise_is_held_by_tests_that_are_there()
    {
        var root = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(root.FullName, "LibraryShelf.sln"))) root = root.Parent!;
        var rows = File.ReadLines(Path.Combine(root.FullName, "docs", "membership.md"))
            .SkipWhile(l => l != "## What is promised, and the tests that hold it").SkipWhile(l => !l.StartsWith('|')).TakeWhile(l => l.StartsWith('|')).Skip(2).ToList();
        Assert.Equal(18, rows.Count);
        Assert.All(rows, row =>
        {
            var named = Named().Matches(row);
            Assert.NotEmpty(named);
            Assert.All(named, test => Assert.True(Tests.Contains(test.Groups[1].Value), $"There is no test {test.Groups[1].Value}."));
        });
    }

    private static readonly HashSet<string> Tests = [.. typeof(PromisesTests).Assembly.GetTypes()
        .SelectMany(t => t.GetMethods().Where(m => m.GetCustomAttribute<FactAttribute>() is { Skip: null }).Select(m => $"{t.Name}.{m.Name}"))];

    [GeneratedRegex(@"`(\w+\.\w+)`", RegexOptions.None, 1000)]
    private static partial Regex Named();
}

using System.Text;
using System.Text.Json.Nodes;
using LibraryShelf.Texts;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>How days are written is tried when a language is read, before a page is made of it.</summary>
public sealed class DayPatternsTests
{
    [Fact]
    public void English_writes_all_of_its_own()
    {
        var keys = TextsInCode.All().Where(t => t.Fault is null && DayPatterns.IsOne(t.Key)).Select(t => t.Key).Distinct(StringComparer.Ordinal).ToList();
        Assert.Contains("d MMMM uuuu", keys);
        Assert.Contains("MMM uuuu", keys);
        Assert.Contains("H:mm", keys);
        Assert.All(keys, key => Assert.Null(WhyWrong(key, key)));
    }

    [Theory]
    [InlineData("d MMMM uuuu", "d. MMMM uuuu")]
    [InlineData("d MMMM uuuu 'at' HH:mm", "d. MMMM uuuu 'um' HH:mm")]
    [InlineData("H:mm", "H.mm")]
    [InlineData("Read", "{ nothing of a day")]
    public void Another_order_and_other_signs_are_the_languages_own(string key, string text) => Assert.Null(WhyWrong(key, text));

    [Theory]
    [InlineData("d MMMM uuuu", "d MMMM uuuu 'am")]
    [InlineData("d MMMM uuuu", "d MMMM uuuu, HH:mm")]
    [InlineData("MMMM uuuu", "d MMMM uuuu")]
    [InlineData("H:mm", "d H:mm")]
    [InlineData("d MMMM, H:mm", "qq")]
    public void One_that_would_break_a_page_is_named(string key, string text) =>
        Assert.StartsWith($"“{key}” is how a day is written, and its text can’t be: ", WhyWrong(key, text), StringComparison.Ordinal);

    private static string? WhyWrong(string key, string text)
    {
        var file = new JsonObject { ["language"] = "de", ["texts"] = new JsonObject { [key] = text } };
        return DayPatterns.WhyWrong(Language.Read(new MemoryStream(Encoding.UTF8.GetBytes(file.ToJsonString()))));
    }
}

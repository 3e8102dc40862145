using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using LibraryShelf.Web.Pages.Words.Scripts;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>What a script says stands in its page, in the shelf's language (docs/texts.md): scripts have the keys.</summary>
public sealed partial class ScriptsTests
{
    /// <summary>Not said to anybody: folders of an operating system.</summary>
    private static readonly string[] NoSentences = ["system volume information"];

    /// <summary>By the script that begins with them, the words that it and those it loads use.</summary>
    public static TheoryData<string, string[]> Given { get; } = new()
    {
        { PasskeyWords.Json, ["passkey.js"] },
        { ShelfWords.Json, ["shelf.js"] },
        { KeyboardWords.Json, ["listen.js", "keyboard.js", "keyboard-sounds.js"] },
        { SendFolderWords.Json, ["send-folder.js", "send-view.js"] },
        { WhichVersionWords.Json, ["which-version.js", "which-version-answer.js", "read-zip.js"] },
    };

    [Fact]
    public void Scripts_hold_no_sentences()
    {
        var found = Directory.GetFiles(Scripts, "*.js").SelectMany(file => Literals(File.ReadAllText(file)).Where(IsSentence).Select(l => $"{Path.GetFileName(file)}: {l}")).ToList();
        Assert.DoesNotContain(found, f => !NoSentences.Any(n => f.EndsWith(": " + n, StringComparison.Ordinal)));
        // So that an exception goes when its cause does, and the reading itself is known to find something.
        Assert.All(NoSentences, n => Assert.Contains(found, f => f.EndsWith(": " + n, StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("say(`Reading ${size(done)} of ${size(total)}`);", true)]
    [InlineData("say(isHere ? \"It is here.\" : 'gone');", true)]
    [InlineData("// What is said here, \"is said to nobody\".", false)]
    [InlineData("const path = `/boxes/${slug}/${number}`;", false)]
    [InlineData("const turn = `${way} ${key} ${hardest}`;", false)]
    public void A_sentence_is_known_by_its_words(string script, bool isOne) => Assert.Equal(isOne, Literals(script).Any(IsSentence));

    [Theory]
    [MemberData(nameof(Given))]
    public void Each_word_that_a_script_is_given_it_uses_and_the_other_way_round(string json, string[] scripts)
    {
        var given = JsonNode.Parse(json)!.AsObject().Select(w => w.Key).ToHashSet();
        var code = string.Concat(scripts.Select(s => File.ReadAllText(Path.Combine(Scripts, s))));
        var literals = Literals(code).ToHashSet();
        // js/words.js asks for these by itself, and the keys of js/shelf.js are put together of what the form says.
        Assert.DoesNotContain(given, key => !literals.Contains(key) && key is not ("decimal" or "byte" or "units") && !key.StartsWith("nothing-", StringComparison.Ordinal));
        var asked = Asked().Matches(code).Select(m => m.Groups["key"].Value).ToList();
        Assert.NotEmpty(given);
        Assert.NotEmpty(asked);
        Assert.DoesNotContain(asked, key => !given.Contains(key));
    }

    private static string Scripts => Path.Combine(Repository.Root, "src", "LibraryShelf.Web", "wwwroot", "js");

    private static IEnumerable<string> Literals(string script) =>
        Tokens().Matches(script).Where(t => t.Value[0] != '/').Select(t => t.Value[0] == '`' ? Hole().Replace(t.Value[1..^1], "…") : t.Value[1..^1]);

    private static bool IsSentence(string literal) => Sentence().IsMatch(literal);

    /// <summary>Comments, so that quotes in them are passed over, and the three kinds of strings.</summary>
    [GeneratedRegex("""//[^\n]*|/\*.*?\*/|"(?:\\.|[^"\\\n])*"|'(?:\\.|[^'\\\n])*'|`(?:\\.|[^`\\])*`""", RegexOptions.Singleline)]
    private static partial Regex Tokens();

    [GeneratedRegex(@"\$\{[^{}]*(\}|$)")]
    private static partial Regex Hole();

    [GeneratedRegex(@"(?=.*\p{L})(\p{L}[\p{L}’'-]*|…)[,:;]? (\p{L}[\p{L}’'-]*|…)[,:;]? (\p{L}|…)")]
    private static partial Regex Sentence();

    [GeneratedRegex("""\b(say|words|Fault|#words|#list|#link)\("(?<key>[a-z-]+)"|tell\(form, "(?<key>[a-z-]+)"|\("(?<key>[a-z-]+)", \.\.\.""")]
    private static partial Regex Asked();
}

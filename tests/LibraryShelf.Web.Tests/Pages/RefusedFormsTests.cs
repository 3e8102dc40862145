using System.Text.RegularExpressions;
using AngleSharp.Dom;
using LibraryShelf.Web.Tests.Deploy;
using LibraryShelf.Web.Tests.Doors;

namespace LibraryShelf.Web.Tests.Pages;

/// <summary>
/// A form that comes back says over it what happened and what is kept, and leads from there to each field that is wrong; the field is marked and says it too, and what was typed is
/// still in it, unless it is a password, which no page shows again.
/// WCAG 2.2, 3.3.1 Error Identification and 3.3.3 Error Suggestion; techniques G83, ARIA21 and ARIA1.
/// </summary>
public sealed partial class RefusedFormsTests
{
    private static readonly string Long = new('x', 1_200);

    /// <summary>Who, where ({0} is the free library's slug, {1} the id of its version, which is out), which button, and what is typed there. A name that ends in "?" is one whose field is not wrong.</summary>
    private static readonly (Who Who, string Path, string Button, (string Name, string Value)[] Typed)[] Forms =
    [
        (Who.Visitor, "/sign-in", "Send me the mail", [("Email", "nobody")]),
        (Who.Visitor, "/sign-in/code", "Sign in with the code", [("Email?", "wren@post.example"), ("Code", "AAAA-1111")]),
        (Who.Visitor, "/workbench/sign-in", "Sign in", [("Email?", "nobody@post.example"), ("Password?", "four spoons and a tin")]),
        (Who.Visitor, "/boxes/{0}/follow", "Hear of new versions", [("Email", "no@")]),
        (Who.Visitor, "/boxes/{0}/something-wrong", "Tell the maker", [("Recording", "nothing.wav"), ("Words", "")]),
        (Who.Member, "/mine/address", "Send both mails", [("Email", "nobody")]),
        (Who.Maker, "/workbench/libraries/new", "Add the library", [("Title", ""), ("Slug", "Not OK!"), ("Sentence", Long)]),
        (Who.Maker, "/workbench/libraries/{0}", "Save the words", [("Title", ""), ("Sentence", Long), ("Description?", "Kept.")]),
        (Who.Maker, "/workbench/libraries/{0}", "Start the version", [("number", "the next")]),
        (Who.Maker, "/workbench/releases/{1}/withdraw", "Withdraw 1.0.0 now", [("reason", Long)]),
        (Who.Maker, "/workbench/libraries/{0}/limits", "Save the limits", [("highestTruePeakDbtp", "900"), ("takeSpreadDb?", "2")]),
        (Who.Maker, "/workbench/members", "Give it", [("Email", "nobody"), ("Note?", "a note")]),
        (Who.Maker, "/workbench/members/import", "See what would come of it", [("Source", ""), ("Consent", ""), ("Pasted?", "email\nwren@post.example")]),
        (Who.Maker, "/workbench/members/merge", "See what comes together", [("Stays", "nobody@post.example"), ("Joins?", "none@post.example")]),
        (Who.Maker, "/workbench/membership", "Offer it", [("Price", "six")]),
        (Who.Maker, "/workbench/membership", "Keep", [("ConsentWords", Long), ("ButtonWords", Long), ("TermsVersion", Long)]),
        (Who.Maker, "/workbench/shop", "Save the shop", [("Shop.Name", ""), ("Shop.TimeZone", "Atlantis"), ("Shop.MakerLine?", "A line.")]),
        (Who.Maker, "/workbench/shop", "Change the password", [("password", "a tin")]),
        (Who.Maker, "/workbench/drops", "Keep as the usual day", [("UsualTime", "noon")]),
    ];

    [Fact]
    public async Task Each_leads_to_what_is_wrong_and_keeps_what_was_typed()
    {
        await using var world = await DoorWorld.MakeAsync();
        List<string> faults = [];
        foreach (var (who, template, button, typed) in Forms)
        {
            var path = template.Replace("{0}", world.Free.Slug, StringComparison.Ordinal).Replace("{1}", $"{world.Free.ReleaseId}", StringComparison.Ordinal);
            using var client = await world.ClientAsync(who);
            var page = await client.PageAsync(path);
            var values = typed.Select(t => (t.Name.TrimEnd('?'), (string?)t.Value)).ToArray();
            var refused = await client.PressAndStayAsync(page, button, values);
            faults.AddRange(FaultsOf(refused, typed).Select(fault => $"{path}, {button}: {fault}"));
        }
        Assert.True(faults.Count == 0, string.Join('\n', faults));
    }

    private static IEnumerable<string> FaultsOf(IDocument page, (string Name, string Value)[] typed)
    {
        if (page.QuerySelector(".problems[role=alert][tabindex='-1'][autofocus]") is not { } problems)
        {
            yield return "nothing over the form says what happened";
            yield break;
        }
        var first = problems.QuerySelector("p")?.Words() ?? "";
        if (!Happened.IsMatch(first))
            yield return $"“{first}” does not say what happened";
        if (!(typed.All(t => IsPassword(FieldOf(page, t.Name))) ? Kept : TypedIsKept).IsMatch(first))
            yield return $"“{first}” does not say what is kept";
        foreach (var link in problems.QuerySelectorAll("a[href^='#']").Where(a => page.GetElementById(a.GetAttribute("href")![1..]) is null))
            yield return $"{link.GetAttribute("href")} leads nowhere";
        foreach (var (name, value) in typed)
        {
            var field = FieldOf(page, name);
            var kept = field.LocalName == "textarea" ? field.TextContent.TrimStart('\n') : field.GetAttribute("value") ?? "";
            if (kept != (IsPassword(field) ? "" : value))
                yield return $"{name} has “{kept}” for “{value}”";
            if (name.EndsWith('?'))
                continue;
            if (problems.QuerySelector($"a[href='#{field.Id}']") is not { } link)
                yield return $"{name} is not linked";
            else if (!(field.GetAttribute("aria-describedby") ?? "").Split(' ').Any(id => page.GetElementById(id)?.Words() == link.Words()))
                yield return $"{name} is not described by “{link.Words()}”";
            if (field.GetAttribute("aria-invalid") != "true")
                yield return $"{name} is not marked";
        }
    }

    /// <summary>Of every form of the program, by its code: those that take a month, a plan or a lost race to be refused, too.</summary>
    [Fact]
    public void Each_says_what_is_kept()
    {
        var pages = Path.Combine(NginxInFront.Repository(), "src", "LibraryShelf.Web", "Pages");
        var files = Directory.EnumerateFiles(pages, "*.cs*", SearchOption.AllDirectories).Select(file => (Name: Path.GetFileName(file), Text: File.ReadAllText(file))).ToArray();
        Assert.Equal(["_FieldProblems.cshtml", "_FormProblems.cshtml"], files.Where(f => f.Text.Contains("class=\"problems\"", StringComparison.Ordinal)).Select(f => f.Name).Order(StringComparer.Ordinal));
        var refusals = files.SelectMany(f => Refusal.Matches(f.Text).Select(m => (f.Name, Words: m.Groups["words"].Value))).ToArray();
        // Their first lines stand elsewhere: of a letter with its outcomes, of the shop's fields with the two forms that have them; and after a lost race the next line says it, whatever was pressed.
        Assert.Equal(["FormProblems.cs", "Letter.cshtml", "ShopFields.cs"], refusals.Where(r => r.Words.Length == 0).Select(r => r.Name).Order(StringComparer.Ordinal));
        Assert.True(refusals.Length > 40, $"only {refusals.Length} refusals were found");
        Assert.DoesNotContain(refusals, r => r.Words.Length > 0 && !(Happened.IsMatch(r.Words) && Kept.IsMatch(r.Words)));
    }

    private static IElement FieldOf(IDocument page, string name) => page.QuerySelector($"[name='{name.TrimEnd('?')}']")!;

    private static bool IsPassword(IElement field) => field.GetAttribute("type") == "password";

    [GeneratedRegex(@"\b(no|not|nothing|nobody)\b", RegexOptions.IgnoreCase | RegexOptions.NonBacktracking)]
    private static partial Regex Happened { get; }

    [GeneratedRegex("you (typed|chose) is (still here|kept below)", RegexOptions.NonBacktracking)]
    private static partial Regex TypedIsKept { get; }

    [GeneratedRegex("you (typed|chose) is (still here|kept below)|still works|keeps the one it has|(is|are) kept( as (it is|they are))?[.]|othing was (changed|charged)", RegexOptions.NonBacktracking)]
    private static partial Regex Kept { get; }

    /// <summary>Where a refusal is made, with its first line where that stands there.</summary>
    [GeneratedRegex("""(new (Form)?Problems|ToProblems)\((T\(\$?"(?<words>[^"]*)")?""", RegexOptions.ExplicitCapture | RegexOptions.NonBacktracking)]
    private static partial Regex Refusal { get; }
}

using AngleSharp.Dom;
using LibraryShelf.Web.Tests.Doors;

namespace LibraryShelf.Web.Tests.Pages;

/// <summary>
/// A form that comes back says what happened over it, and leads from there to each field that is wrong; the field is marked and says it too, and what was typed is still in it.
/// WCAG 2.2, 3.3.1 Error Identification and 3.3.3 Error Suggestion; techniques G83, ARIA21 and ARIA1.
/// </summary>
public sealed class RefusedFormsTests
{
    private static readonly string Long = new('x', 1_200);

    /// <summary>Who, where (a hole is the library's slug), which button, and what is typed there. A name that ends in "?" is one whose field is not wrong.</summary>
    private static readonly (Who Who, string Path, string Button, (string Name, string Value)[] Typed)[] Forms =
    [
        (Who.Visitor, "/sign-in", "Send me the mail", [("Email", "nobody")]),
        (Who.Visitor, "/sign-in/code", "Sign in with the code", [("Email?", "wren@post.example"), ("Code", "AAAA-1111")]),
        (Who.Visitor, "/boxes/{0}/follow", "Hear of new versions", [("Email", "no@")]),
        (Who.Visitor, "/boxes/{0}/something-wrong", "Tell the maker", [("Recording", "nothing.wav"), ("Words", "")]),
        (Who.Member, "/mine/address", "Send both mails", [("Email", "nobody")]),
        (Who.Maker, "/workbench/libraries/new", "Add the library", [("Title", ""), ("Slug", "Not OK!"), ("Sentence", Long)]),
        (Who.Maker, "/workbench/libraries/{0}", "Save the words", [("Title", ""), ("Sentence", Long), ("Description?", "Kept.")]),
        (Who.Maker, "/workbench/libraries/{0}/limits", "Save the limits", [("highestTruePeakDbtp", "900"), ("takeSpreadDb?", "2")]),
        (Who.Maker, "/workbench/members", "Give it", [("Email", "nobody"), ("Note?", "a note")]),
        (Who.Maker, "/workbench/members/import", "See what would come of it", [("Source", ""), ("Consent", ""), ("Pasted?", "email\nwren@post.example")]),
        (Who.Maker, "/workbench/members/merge", "See what comes together", [("Stays", "nobody@post.example"), ("Joins?", "none@post.example")]),
        (Who.Maker, "/workbench/membership", "Offer it", [("Price", "six")]),
        (Who.Maker, "/workbench/membership", "Keep", [("ConsentWords", Long), ("ButtonWords", Long), ("TermsVersion", Long)]),
        (Who.Maker, "/workbench/shop", "Save the shop", [("Shop.Name", ""), ("Shop.TimeZone", "Atlantis"), ("Shop.MakerLine?", "A line.")]),
    ];

    [Fact]
    public async Task Each_leads_to_what_is_wrong_and_keeps_what_was_typed()
    {
        await using var world = await DoorWorld.MakeAsync();
        List<string> faults = [];
        foreach (var (who, template, button, typed) in Forms)
        {
            var path = template.Replace("{0}", world.Free.Slug, StringComparison.Ordinal);
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
        if (problems.QuerySelector("p") is not { } first || first.Words().Length == 0)
            yield return "it is not said what happened";
        foreach (var link in problems.QuerySelectorAll("a[href^='#']").Where(a => page.GetElementById(a.GetAttribute("href")![1..]) is null))
            yield return $"{link.GetAttribute("href")} leads nowhere";
        foreach (var (name, value) in typed)
        {
            var field = page.QuerySelector($"[name='{name.TrimEnd('?')}']")!;
            var kept = field.LocalName == "textarea" ? field.TextContent.TrimStart('\n') : field.GetAttribute("value") ?? "";
            if (kept != value)
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
}

using LibraryShelf.Core.Catalog;
using static LibraryShelf.Web.Pages.Words.Scripts.ScriptWords;

namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>js/shelf.js: what it says once it has hidden what was not wished for. The page says the same of a wish in its address.</summary>
internal static class ShelfWords
{
    public static string Json => ScriptWords.Json(new()
    {
        ["all"] = All(First),
        ["some"] = Some(First, Second),
        ["nothing"] = Nothing(null, ""),
        ["nothing-free"] = Nothing(Audience.Free, ""),
        ["nothing-members"] = Nothing(Audience.Members, ""),
        ["nothing-found"] = Nothing(null, First),
        ["nothing-found-free"] = Nothing(Audience.Free, First),
        ["nothing-found-members"] = Nothing(Audience.Members, First),
    });

    public static string All(object all) => T($"All {all} shown");

    public static string Some(object shown, object all) => T($"{shown} of {all} shown");

    /// <param name="show">Only those for them.</param>
    /// <param name="find">What was typed; empty: nothing.</param>
    public static string Nothing(Audience? show, string find) => (show, find.Length > 0) switch
    {
        (Audience.Free, true) => T($"No free box matches “{find}”."),
        (Audience.Members, true) => T($"No members’ box matches “{find}”."),
        (_, true) => T($"No box matches “{find}”."),
        (Audience.Free, false) => T("No free box is like that."),
        (Audience.Members, false) => T("No members’ box is like that."),
        _ => T("No box is like that."),
    };
}

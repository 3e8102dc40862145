using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Catalog;

/// <summary>A licence by its SPDX id.</summary>
public sealed record Licence(string Id, string Name)
{
    /// <summary>
    /// What it comes to for whoever takes the library, in a few sentences. After the deeds of Creative Commons, such as https://creativecommons.org/licenses/by/4.0/deed.en;
    /// the others after the permissions, conditions and limitations of choosealicense.com (https://choosealicense.com/licenses/mit/, /apache-2.0/, /gpl-3.0/, /ofl-1.1/, /unlicense/)
    /// and the clauses named beside them of the texts that SPDX has (https://spdx.org/licenses/MIT.html). No advice: what holds is the licence's own text.
    /// </summary>
    public string Plain { get; init; } = "";
}

/// <summary>
/// SPDX licence ids (https://spdx.org/licenses/): the few that fit recordings and texts are offered by name; any other that
/// is written as an id may be (letters, digits, "." and "-": SPDX 2.3, annex D) is taken with a warning.
/// </summary>
public static partial class Licences
{
    public static IReadOnlyList<Licence> Offered { get; } =
    [
        new("CC0-1.0", T("Creative Commons Zero 1.0: anyone may do anything")) { Plain = T("You may do anything with it, also for money, without asking and without naming anyone.") },
        new("CC-BY-4.0", T("Creative Commons Attribution 4.0: name the maker")) { Plain = Attribution },
        new("CC-BY-SA-4.0", T("Creative Commons Attribution ShareAlike 4.0: name the maker, pass on alike")) { Plain = ShareAlike },
        new("CC-BY-NC-4.0", T("Creative Commons Attribution NonCommercial 4.0: name the maker, not for money")) { Plain = T("You may use it, change it and pass it on, but not for money, if you name the maker and say what you changed.") },
        new("CC-BY-NC-SA-4.0", T("Creative Commons Attribution NonCommercial ShareAlike 4.0")) { Plain = T("You may use it, change it and pass it on, but not for money, if you name the maker and say what you changed. What you pass on changed goes under the same licence.") },
        new("CC-BY-ND-4.0", T("Creative Commons Attribution NoDerivatives 4.0")) { Plain = T("You may use it and pass it on, also for money, if you name the maker. Changed you may not pass it on.") },
        new("CC-BY-NC-ND-4.0", T("Creative Commons Attribution NonCommercial NoDerivatives 4.0")) { Plain = T("You may use it and pass it on, but not for money, if you name the maker. Changed you may not pass it on.") },
        new("CC-BY-3.0", T("Creative Commons Attribution 3.0")) { Plain = Attribution },
        new("CC-BY-SA-3.0", T("Creative Commons Attribution ShareAlike 3.0")) { Plain = ShareAlike },
        new("MIT", "MIT License") { Plain = T("You may use it, change it, pass it on and sell it, if its copyright line and the text of the licence go with every copy and every large part. It comes without any warranty.") },
        // Sections 4 (what goes with it), 6 (names) and 7 (warranty).
        new("Apache-2.0", "Apache License 2.0") { Plain = T("You may use it, change it, pass it on and sell it, if the text of the licence and the notices in it go with it, and files you changed say so. The maker’s names and marks are not yours to use. It comes without any warranty.") },
        // Sections 4 to 6 (passing on, as it is, changed, without its source), 10 (no more restrictions) and 15 (warranty).
        new("GPL-3.0-or-later", "GNU General Public License 3.0 or later") { Plain = T("You may use it, change it, pass it on and sell it. What you pass on, changed or not, goes under the same licence, or a later one of its kind, with its text and with the source it is made from; what you changed says so. You may not forbid others what it allows. It comes without any warranty.") },
        // Conditions 1 (selling), 2 (what goes with it), 3 (reserved names), 4 (the maker's name) and 5 (the same licence).
        new("OFL-1.1", "SIL Open Font License 1.1") { Plain = T("You may use it, change it and pass it on, also together with other things that are sold; alone it may not be sold. What you pass on, changed or not, goes under the same licence, with its text and copyright line. Changed, it may not have a name that was reserved, and the maker’s name may not be used to praise it. It comes without any warranty.") },
        new("Unlicense", "The Unlicense") { Plain = T("You may do anything with it, also for money, without asking and without naming anyone. It comes without any warranty.") },
    ];

    [GeneratedRegex("^[A-Za-z0-9.-]{1,60}\\z", RegexOptions.NonBacktracking)]
    private static partial Regex Shape { get; }

    private static string Attribution => T("You may use it, change it and pass it on, also for money, if you name the maker and say what you changed.");

    private static string ShareAlike => T("You may use it, change it and pass it on, also for money, if you name the maker and say what you changed. What you pass on changed goes under the same licence.");

    /// <summary>Null: none that is offered.</summary>
    public static Licence? Find(string id) => Offered.FirstOrDefault(l => l.Id == id);

    public static bool IsId(string text) => Shape.IsMatch(text);

    /// <summary>What the maker should know of an id that can't be vouched for; null for an offered one.</summary>
    public static string? Warning(string id)
    {
        if (Offered.Any(l => l.Id == id))
            return null;
        var near = Offered.FirstOrDefault(l => string.Equals(l.Id, id, StringComparison.OrdinalIgnoreCase));
        return near is not null
            ? T($"Did you mean {near.Id}? Ids are compared with their capitals.")
            : T($"{id} is written as an SPDX id may be, but is not one the shelf knows. Compare it with the list at spdx.org/licenses.");
    }
}

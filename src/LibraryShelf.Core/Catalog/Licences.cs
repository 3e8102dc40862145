using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Catalog;

/// <summary>A licence by its SPDX id.</summary>
public sealed record Licence(string Id, string Name)
{
    /// <summary>
    /// What it comes to for whoever takes the library, in a sentence or two; "" where nobody wrote it down. After the deeds of Creative Commons, such as
    /// https://creativecommons.org/licenses/by/4.0/deed.en. No advice: what holds is the licence's own text.
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
        new("MIT", "MIT License"),
        new("Apache-2.0", "Apache License 2.0"),
        new("GPL-3.0-or-later", "GNU General Public License 3.0 or later"),
        new("OFL-1.1", "SIL Open Font License 1.1"),
        new("Unlicense", "The Unlicense"),
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

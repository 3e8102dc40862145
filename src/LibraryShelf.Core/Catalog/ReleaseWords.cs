using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Catalog;

/// <summary>A player as the maker types it; a row with every field empty is passed over.</summary>
public sealed record PlayerWords(string Name = "", string LowestVersion = "", string HowToInstall = "")
{
    public bool IsEmpty => Name.Length == 0 && LowestVersion.Length == 0 && HowToInstall.Length == 0;
}

/// <summary>
/// What the maker types about a release. The licence is an SPDX id, or her own text, or neither: then the shop's licence for the
/// recordings goes with it. Field names are those of refusals, a player's as "Players[0].Name".
/// </summary>
public sealed record ReleaseWords(
    string Notes, string? LicenceSpdx, string LicenceText, string Credits, IReadOnlyList<PlayerWords> Players)
{
    /// <summary>
    /// The <see cref="Mark"/> of the words the form was filled from, so that two forms don't overwrite each other unseen; null: they are
    /// written over whatever stands. A release's revision would not do: it also moves on while the folder is sent and checked.
    /// </summary>
    public string? FilledFrom { get; init; }

    /// <summary>What <see cref="LicenceText"/> comes to (<see cref="InShort"/>); "": not said.</summary>
    public string LicenceInShort { get; init; } = "";

    public const int MaxNotes = 50_000;
    public const int MaxLicence = 100_000;
    public const int MaxPlayers = 12;
    private const int MaxName = 60;
    private const int MaxVersion = 20;
    private const int MaxSteps = 10_000;

    public ReleaseWords Tidied() => new ReleaseWords(
        Tidy(Notes), string.IsNullOrWhiteSpace(LicenceSpdx) ? null : LicenceSpdx.Trim(), Tidy(LicenceText), Tidy(Credits),
        [.. Players.Select(p => new PlayerWords(Tidy(p.Name), Tidy(p.LowestVersion), Tidy(p.HowToInstall)))])
    {
        FilledFrom = FilledFrom, LicenceInShort = InShort.Tidy(LicenceInShort),
    };

    /// <summary>The words as they stand (its players loaded).</summary>
    public static ReleaseWords Of(Release release) => new(
        release.Notes, release.LicenceSpdx, release.LicenceText, release.Credits,
        [.. release.Players.OrderBy(p => p.Order).Select(p => new PlayerWords(p.Name, p.LowestVersion, p.HowToInstall))]) { LicenceInShort = release.LicenceInShort };

    /// <summary>Short, and another one for other (tidied) words.</summary>
    public string Mark() => WordsMark.Of(
        [Notes, LicenceSpdx ?? "", LicenceText, LicenceInShort, Credits, .. Players.Where(p => !p.IsEmpty).SelectMany(p => new[] { p.Name, p.LowestVersion, p.HowToInstall })]);

    /// <summary>Everything wrong with these (tidied) words; empty when nothing is.</summary>
    public List<Refusal> Refusals()
    {
        var refusals = new List<Refusal>();
        TooLong(refusals, nameof(Notes), Notes, MaxNotes);
        TooLong(refusals, nameof(LicenceText), LicenceText, MaxLicence);
        TooLong(refusals, nameof(Credits), Credits, MaxNotes);
        if (LicenceSpdx is not null && !Licences.IsId(LicenceSpdx))
            refusals.Add(new(nameof(LicenceSpdx), T($"“{LicenceSpdx}” is not an SPDX licence id. Choose one of the list, or write your own text.")));
        if (LicenceSpdx is not null && LicenceText.Length > 0)
            refusals.Add(new(nameof(LicenceText), T("Choose one: an SPDX id, or your own text. Empty the other.")));
        if (InShort.Refuse(LicenceInShort, LicenceText) is { } words)
            refusals.Add(new(nameof(LicenceInShort), words));
        if (Players.Count(p => !p.IsEmpty) > MaxPlayers)
            refusals.Add(new(nameof(Players), T($"{MaxPlayers} players are the most.")));
        for (var i = 0; i < Players.Count; i++)
            refusals.AddRange(PlayerRefusals(i));
        return refusals;
    }

    private IEnumerable<Refusal> PlayerRefusals(int index)
    {
        var player = Players[index];
        if (player.IsEmpty)
            yield break;
        var name = $"{nameof(Players)}[{index}].{nameof(player.Name)}";
        if (player.Name.Length == 0)
            yield return new(name, T("Name the player these steps are for, or empty its other fields."));
        else if (player.Name.Length > MaxName)
            yield return new(name, T($"A player’s name has {MaxName} characters at most."));
        else if (Players.Take(index).Any(p => string.Equals(p.Name, player.Name, StringComparison.OrdinalIgnoreCase)))
            yield return new(name, T($"{player.Name} is named twice. Keep the row with the lowest version that opens it."));
        if (!IsVersion(player.LowestVersion))
            yield return new($"{nameof(Players)}[{index}].{nameof(player.LowestVersion)}",
                T("Write the lowest version that opens it as numbers with dots, such as 2.3 or 5."));
        if (player.HowToInstall.Length > MaxSteps)
            yield return new($"{nameof(Players)}[{index}].{nameof(player.HowToInstall)}", T($"The steps have {MaxSteps} characters at most."));
    }

    private static bool IsVersion(string text) => text.Length is > 0 and <= MaxVersion
        && text.Split('.').All(part => part.Length > 0 && part.All(char.IsAsciiDigit));

    private static void TooLong(List<Refusal> refusals, string field, string text, int max)
    {
        if (text.Length > max)
            refusals.Add(new(field, T($"This has {text.Length} characters; {max} is the most. Shorten it by {text.Length - max}.")));
    }

    private static string Tidy(string? text) => text?.ReplaceLineEndings("\n").Trim() ?? "";
}

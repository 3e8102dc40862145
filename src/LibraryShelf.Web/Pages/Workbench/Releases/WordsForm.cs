using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>Which licence a release goes out under.</summary>
public enum LicenceKind { Shop, Spdx, Own }

public sealed class PlayerForm
{
    public string? Name { get; set; }
    public string? LowestVersion { get; set; }
    public string? HowToInstall { get; set; }
}

/// <summary>A release's words as the form sends them; missing fields are empty.</summary>
public sealed class WordsForm
{
    public string? Notes { get; set; }
    public LicenceKind Licence { get; set; }
    public string? LicenceSpdx { get; set; }
    public string? LicenceText { get; set; }
    public string? LicenceInShort { get; set; }
    public string? Credits { get; set; }
    public List<PlayerForm> Players { get; set; } = [];
    /// <summary>The mark of the words this form was filled from.</summary>
    public string? FilledFrom { get; set; }

    public static WordsForm Of(Release release) => new WordsForm
    {
        FilledFrom = ReleaseWords.Of(release).Mark(),
        Notes = release.Notes, LicenceSpdx = release.LicenceSpdx, LicenceText = release.LicenceText, LicenceInShort = release.LicenceInShort, Credits = release.Credits,
        Licence = release.LicenceSpdx is not null ? LicenceKind.Spdx : release.LicenceText.Length > 0 ? LicenceKind.Own : LicenceKind.Shop,
        Players = [.. release.Players.OrderBy(p => p.Order).Select(p => new PlayerForm
        {
            Name = p.Name, LowestVersion = p.LowestVersion, HowToInstall = p.HowToInstall,
        })],
    }.WithRow();

    /// <summary>With one row at least to type a player into.</summary>
    public WordsForm WithRow()
    {
        if (Players.Count == 0)
            Players.Add(new PlayerForm());
        return this;
    }

    /// <summary>What is to be kept: of the licence only what the choice says.</summary>
    public ReleaseWords ToWords() => new(
        Notes ?? "", Licence == LicenceKind.Spdx ? LicenceSpdx : null, Licence == LicenceKind.Own ? LicenceText ?? "" : "", Credits ?? "",
        [.. Players.Select(p => new PlayerWords(p.Name ?? "", p.LowestVersion ?? "", p.HowToInstall ?? ""))]) { FilledFrom = FilledFrom, LicenceInShort = Licence == LicenceKind.Own ? LicenceInShort ?? "" : "" };

    /// <summary>What only the form can know: a licence chosen but not said.</summary>
    public List<Refusal> Refusals() => this switch
    {
        { Licence: LicenceKind.Spdx } when string.IsNullOrWhiteSpace(LicenceSpdx) => [new(nameof(LicenceSpdx), T("Say which licence, by its SPDX id."))],
        { Licence: LicenceKind.Own } when string.IsNullOrWhiteSpace(LicenceText) => [new(nameof(LicenceText), T("Write your licence text, or choose another licence."))],
        _ => [],
    };
}

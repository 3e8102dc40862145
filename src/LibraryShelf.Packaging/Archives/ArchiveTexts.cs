using System.Globalization;
using System.Text;

namespace LibraryShelf.Packaging.Archives;

/// <summary>The texts that the shelf writes into an archive. UTF-8, line feeds, one at the end.</summary>
internal static class ArchiveTexts
{
    public static string Changes(FullArchiveInput input)
    {
        var text = new StringBuilder($"# What changed in {OneLine(input.Title)}\n");
        foreach (var change in input.Changes)
        {
            var date = change.Date is { } day ? string.Create(CultureInfo.InvariantCulture, $" ({day:yyyy-MM-dd})") : "";
            text.Append($"\n## {change.Number}{date}\n\n{Tidy(change.Notes, "No notes.")}\n");
        }
        return text.ToString();
    }

    public static string Licence(FullArchiveInput input)
    {
        var text = new StringBuilder($"Licence of {OneLine(input.Title)} {input.Number}\n\n");
        if (input.LicenceSpdx is { Length: > 0 } spdx)
            text.Append($"SPDX-License-Identifier: {spdx}\nhttps://spdx.org/licenses/{spdx}.html\n\n");
        if (Tidy(input.LicenceText, "") is { Length: > 0 } own)
            text.Append($"{own}\n\n");
        else if (string.IsNullOrEmpty(input.LicenceSpdx))
            text.Append("The maker states no licence. Ask her before you pass this on.\n\n");
        if (Tidy(input.Credits, "") is { Length: > 0 } credits)
            text.Append($"Credits\n\n{credits}\n\n");
        return text.ToString().TrimEnd('\n') + "\n";
    }

    public static string Install(FullArchiveInput input, string topFolder, string checksums)
    {
        var text = new StringBuilder($"How to install {OneLine(input.Title)} {input.Number}\n\n");
        text.Append($"Unzip, and put the folder \"{topFolder}\" where you keep your libraries. Keep its name, and put a new version over the\n");
        text.Append("old one: songs remember where a recording lies.\n\n");
        foreach (var player in input.Players)
        {
            var version = OneLine(player.LowestVersion);
            text.Append($"{OneLine(player.Name)}{(version.Length > 0 ? $", version {version} or later" : "")}\n\n");
            text.Append($"{Tidy(player.HowToInstall, "Open the mapping file from the folder.")}\n\n");
        }
        text.Append($"To make sure that every file arrived whole, inside the folder: sha256sum -c {checksums}\n");
        return text.ToString();
    }

    private static string OneLine(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    /// <summary>A browser sends line ends as CR LF, a file has what its editor wrote: one form, so that both give the same archive.</summary>
    private static string Tidy(string text, string whenEmpty)
    {
        var tidy = text.TrimStart('\uFEFF').ReplaceLineEndings("\n").Trim();
        return tidy.Length > 0 ? tidy : whenEmpty;
    }
}

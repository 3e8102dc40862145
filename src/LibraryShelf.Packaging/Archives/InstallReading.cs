using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Reads out of a sealed version's INSTALL.txt which players it opens in, as <see cref="ArchiveTexts.Install"/> wrote them: a line of its own,
/// "Name, version 2.3 or later", or the name alone, before the steps. The steps are the maker's free text.
/// </summary>
public static class InstallReading
{
    private const string Version = ", version ", Later = " or later", Title = "How to install ";

    /// <summary>The version's number, the last word of the first line; null when it is no such text.</summary>
    public static string? NumberOf(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var line = text.ReplaceLineEndings("\n").Split('\n', 2)[0];
        return line.StartsWith(Title, StringComparison.Ordinal) && line[(line.LastIndexOf(' ') + 1)..] is var word && ReleaseNumber.TryParse(word) is not null ? word : null;
    }

    /// <summary>
    /// Name and lowest version ("" when none is said), in the text's order. A name alone looks like a line of the steps: it counts where it is the first one,
    /// or one of <paramref name="knownNames"/>, those of the version that this one is held against. Empty when it names no player, or is no such text.
    /// </summary>
    public static IReadOnlyList<(string Name, string LowestVersion)> PlayersOf(string text, IReadOnlyCollection<string> knownNames)
    {
        ArgumentNullException.ThrowIfNull(text);
        ArgumentNullException.ThrowIfNull(knownNames);
        // Title, what to do with the folder; players and steps; how to check what arrived.
        var paragraphs = text.ReplaceLineEndings("\n").Split("\n\n", StringSplitOptions.RemoveEmptyEntries);
        var players = new List<(string Name, string LowestVersion)>();
        for (var i = 2; i < paragraphs.Length - 1; i++)
        {
            var line = paragraphs[i].Trim();
            if (line.Contains('\n', StringComparison.Ordinal) || Read(line) is not { } player)
                continue;
            if (player.LowestVersion.Length > 0 || i == 2 || knownNames.Contains(player.Name, StringComparer.OrdinalIgnoreCase))
                players.Add(player);
        }
        return [.. players.DistinctBy(p => p.Name, StringComparer.OrdinalIgnoreCase)];
    }

    private static (string Name, string LowestVersion)? Read(string line)
    {
        var at = line.LastIndexOf(Version, StringComparison.Ordinal);
        if (at > 0 && line.EndsWith(Later, StringComparison.Ordinal) && line.Length - Later.Length > at + Version.Length)
            return (line[..at], line[(at + Version.Length)..^Later.Length]);
        return line.Length > 0 ? (line, "") : null;
    }
}

namespace LibraryShelf.Web.Pages.Words;

/// <summary>Counted things.</summary>
internal static class Plural
{
    private static string[] Small =>
    [
        T("no"), T("one"), T("two"), T("three"), T("four"), T("five"), T("six"), T("seven"), T("eight"), T("nine"), T("ten"), T("eleven"), T("twelve"), T("thirteen"),
        T("fourteen"), T("fifteen"), T("sixteen"), T("seventeen"), T("eighteen"), T("nineteen"), T("twenty"),
    ];

    /// <summary>"1 recording", "480 recordings", "1 box", "2 boxes", "3 libraries".</summary>
    public static string Of(long count, string one) => $"{count.ToString(Say.Culture)} {Noun(count, one, Many(one))}";

    /// <summary>"fourteen boxes" up to twenty, figures beyond; "no boxes" for none.</summary>
    public static string InWords(int count, string one) =>
        count is < 0 or > 20 ? Of(count, one) : $"{Small[count]} {Noun(count, one, Many(one))}";

    /// <summary>The same at the start of a sentence: "Fourteen boxes".</summary>
    public static string Opening(int count, string one)
    {
        var words = InWords(count, one);
        return char.ToUpperInvariant(words[0]) + words[1..];
    }

    private static string Many(string one) => one switch
    {
        _ when one.EndsWith(" of playing", StringComparison.Ordinal) => one.Replace("way", "ways", StringComparison.Ordinal),
        "person" => "people",
        _ when one.EndsWith('x') || one.EndsWith('s') || one.EndsWith("ch", StringComparison.Ordinal) => one + "es",
        _ when one.EndsWith('y') && one.Length > 1 && !"aeiou".Contains(one[^2], StringComparison.Ordinal) => one[..^1] + "ies",
        _ => one + "s",
    };
}

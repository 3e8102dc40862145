namespace LibraryShelf.Web.Pages.Words;

/// <summary>Counted things. Where one fills a hole of a sentence, its number chooses the form of it.</summary>
internal static class Plural
{
    private static string[] Small =>
    [
        T("no"), T("one"), T("two"), T("three"), T("four"), T("five"), T("six"), T("seven"), T("eight"), T("nine"), T("ten"), T("eleven"), T("twelve"), T("thirteen"),
        T("fourteen"), T("fifteen"), T("sixteen"), T("seventeen"), T("eighteen"), T("nineteen"), T("twenty"),
    ];

    /// <summary>The same at the start of a sentence: words of their own, because languages have their own rules for first letters.</summary>
    private static string[] First =>
    [
        T("No"), T("One"), T("Two"), T("Three"), T("Four"), T("Five"), T("Six"), T("Seven"), T("Eight"), T("Nine"), T("Ten"), T("Eleven"), T("Twelve"), T("Thirteen"),
        T("Fourteen"), T("Fifteen"), T("Sixteen"), T("Seventeen"), T("Eighteen"), T("Nineteen"), T("Twenty"),
    ];

    /// <summary>"1 recording", "480 recordings", "1 box", "2 boxes", "3 libraries".</summary>
    public static Counted Of(long count, string one) => Say.Count(count, one, Many(one));

    /// <summary>"fourteen boxes" up to twenty, figures beyond; "no boxes" for none.</summary>
    public static Counted InWords(int count, string one) => Written(count, one, Small);

    /// <summary>The same at the start of a sentence: "Fourteen boxes".</summary>
    public static Counted Opening(int count, string one) => Written(count, one, First);

    /// <summary>The number alone: "fourteen", "21".</summary>
    public static Counted Number(int count) => new(count, IsFigure(count) ? count.ToString(Say.Culture) : Small[count]);

    private static Counted Written(int count, string one, string[] words) => IsFigure(count) ? Of(count, one) : new(count, $"{words[count]} {Noun(count, one, Many(one))}");

    private static bool IsFigure(int count) => count is < 0 or > 20;

    private static string Many(string one) => one switch
    {
        _ when one.EndsWith(" of playing", StringComparison.Ordinal) => one.Replace("way", "ways", StringComparison.Ordinal),
        "person" => "people",
        _ when one.EndsWith('x') || one.EndsWith('s') || one.EndsWith("ch", StringComparison.Ordinal) => one + "es",
        _ when one.EndsWith('y') && one.Length > 1 && !"aeiou".Contains(one[^2], StringComparison.Ordinal) => one[..^1] + "ies",
        _ => one + "s",
    };
}

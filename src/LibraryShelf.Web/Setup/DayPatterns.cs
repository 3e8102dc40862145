using System.Globalization;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Web.Setup;

/// <summary>How days are written is a text in NodaTime's letters: one that a language's file has wrong is known by its key at the start, not by a page that breaks.</summary>
internal static partial class DayPatterns
{
    public static bool IsOne(string key) => Form().IsMatch(key);

    /// <returns>The key and what is wrong; null: nothing is.</returns>
    public static string? WhyWrong(Language language)
    {
        foreach (var (key, wording) in language.Texts.Where(t => IsOne(t.Key)))
        {
            try
            {
                foreach (var pattern in wording.Forms.Values)
                    Write(key, Wording.Fill(pattern, []), language.Culture);
            }
            catch (FormatException wrong)
            {
                return $"“{key}” is how a day is written, and its text can’t be: {wrong.Message}";
            }
        }
        return null;
    }

    /// <summary>What is known of a day where the key is said is what the key itself writes of it.</summary>
    private static string Write(string key, string pattern, CultureInfo culture)
    {
        var at = new LocalDateTime(2026, 11, 27, 21, 10);
        return (OfDay: key.Contains('d', StringComparison.Ordinal), OfTime: key.Contains('H', StringComparison.Ordinal)) switch
        {
            (true, true) => LocalDateTimePattern.Create(pattern, culture).Format(at),
            (true, false) => LocalDatePattern.Create(pattern, culture).Format(at.Date),
            (false, true) => LocalTimePattern.Create(pattern, culture).Format(at.TimeOfDay),
            (false, false) => YearMonthPattern.Create(pattern, culture).Format(at.Date.ToYearMonth()),
        };
    }

    [GeneratedRegex(@"\A(?=.*(MMM|uuuu|HH|H:mm))([dMuyHms ,.:-]|'[^']*')+\z", RegexOptions.ExplicitCapture | RegexOptions.CultureInvariant, 1000)]
    private static partial Regex Form();
}

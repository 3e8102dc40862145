using System.Globalization;
using System.Text;
using CsvHelper;
using CsvHelper.Configuration;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Shared;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Membership;

/// <summary>Why a list can't be read at all.</summary>
public enum ImportTrouble
{
    Empty,
    TooBig,
    TooManyLines,
    /// <summary>Some bytes are no UTF-8.</summary>
    NotUtf8,
    NoEmailColumn,
    /// <summary>A quotation mark is not closed, or stands inside a value.</summary>
    BrokenQuotes,
}

/// <summary>What is wrong with one line by itself; nothing of it is taken.</summary>
public enum ImportFault
{
    NoAddress,
    FromIsNoDay,
    UntilIsNoDay,
    EndsBeforeItStarts,
    /// <summary>The same address stands further up in the list.</summary>
    TwiceInList,
    MakersOwn,
}

/// <summary>One line as written.</summary>
/// <param name="Number">The line of the file on which it begins, from 1, which is the header's.</param>
/// <param name="From">First day of the membership; null with <paramref name="Until"/> set: today; null with it null: none.</param>
/// <param name="Until">Last day of it; null: no end.</param>
/// <param name="TwinOf">The line further up with the same address.</param>
internal sealed record ImportTextLine(
    int Number, string Email, LocalDate? From, LocalDate? Until, string Note, string Consent, ImportFault? Fault = null, int? TwinOf = null)
{
    public bool HasMembership => From is not null || Until is not null;
}

/// <param name="TroubleLine">Where, if the trouble is at one line.</param>
internal sealed record ImportText(IReadOnlyList<ImportTextLine> Lines, ImportTrouble? Trouble = null, int? TroubleLine = null)
{
    public const int MostBytes = 5_000_000;
    public const int MostLines = 20_000;
    private const int LongestNote = 500;
    private const int LongestConsent = 1_000;

    /// <summary>Columns by their names in the first line (any case; spaces and hyphens count as _), separated by comma, semicolon or tab; RFC 4180 otherwise.</summary>
    public static ImportText Read(ReadOnlySpan<byte> file)
    {
        if (file.Length > MostBytes)
            return new([], ImportTrouble.TooBig);
        if (TextOf(file) is not { } text)
            return new([], ImportTrouble.NotUtf8);
        if (string.IsNullOrWhiteSpace(text))
            return new([], ImportTrouble.Empty);
        using var parser = new CsvParser(new StringReader(text), new CsvConfiguration(CultureInfo.InvariantCulture)
        {
            Delimiter = DelimiterOf(text), IgnoreBlankLines = false,
        });
        try
        {
            return ReadLines(parser);
        }
        catch (BadDataException)
        {
            return new([], ImportTrouble.BrokenQuotes, parser.RawRow);
        }
    }

    private static ImportText ReadLines(CsvParser parser)
    {
        do
        {
            if (!parser.Read())
                return new([], ImportTrouble.Empty);
        }
        while (IsBlank(parser));
        var columns = new Dictionary<string, int>(StringComparer.Ordinal);
        for (var i = 0; i < parser.Count; i++)
            columns.TryAdd(ColumnOf(parser[i]), i);
        if (!columns.ContainsKey("email"))
            return new([], ImportTrouble.NoEmailColumn);
        var lines = new List<ImportTextLine>();
        var seen = new Dictionary<string, int>(StringComparer.Ordinal);
        for (var number = parser.RawRow + 1; parser.Read(); number = parser.RawRow + 1)
        {
            if (IsBlank(parser))
                continue;
            if (lines.Count == MostLines)
                return new([], ImportTrouble.TooManyLines);
            lines.Add(LineOf(number, name => columns.TryGetValue(name, out var at) && at < parser.Count ? parser[at].Trim() : "", seen));
        }
        return lines.Count == 0 ? new([], ImportTrouble.Empty) : new(lines);
    }

    private static bool IsBlank(CsvParser parser) => parser.Record!.All(string.IsNullOrWhiteSpace);

    private static string ColumnOf(string header) => header.Trim().ToLowerInvariant().Replace(' ', '_').Replace('-', '_') is var name
        && name is "e_mail" or "email_address" or "e_mail_address" ? "email" : name;

    private static ImportTextLine LineOf(int number, Func<string, string> field, Dictionary<string, int> seen)
    {
        var typed = Unmarked(field("email"));
        var (from, isFrom) = DayOf(field("member_from"));
        var (until, isUntil) = DayOf(field("member_until"));
        var line = new ImportTextLine(number, EmailAddress.Tidy(typed) ?? typed, from, until, ShortText.Of(Unmarked(field("note")), LongestNote), ShortText.Of(Unmarked(field("consent")), LongestConsent));
        if (EmailAddress.Tidy(typed) is not { } email)
            return line with { Fault = ImportFault.NoAddress };
        if (!isFrom || !isUntil)
            return line with { Fault = isFrom ? ImportFault.UntilIsNoDay : ImportFault.FromIsNoDay };
        if (until < from)
            return line with { Fault = ImportFault.EndsBeforeItStarts };
        var normalized = EmailAddress.Normalize(email);
        return seen.TryAdd(normalized, number) ? line : line with { Fault = ImportFault.TwiceInList, TwinOf = seen[normalized] };
    }

    /// <summary>Empty is fine: no day. A time after the day, as programs write it, is left aside.</summary>
    private static (LocalDate? Day, bool IsFine) DayOf(string typed)
    {
        if (typed.Length == 0)
            return (null, true);
        var day = typed.Length > 10 && typed[10] is 'T' or ' ' ? typed[..10] : typed;
        return LocalDatePattern.Iso.Parse(day) is { Success: true, Value: var read } && read.Year is > 1990 and < 9000 ? (read, true) : (null, false);
    }

    /// <summary>Without the mark that files for spreadsheets put before what begins like a formula, ours too.</summary>
    private static string Unmarked(string text) =>
        text.Length > 1 && text[0] == '\'' && "=+-@".Contains(text[1], StringComparison.Ordinal) ? text[1..] : text;

    private static string? TextOf(ReadOnlySpan<byte> file)
    {
        try
        {
            return new UTF8Encoding(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true)
                .GetString(file.StartsWith(Encoding.UTF8.Preamble) ? file[3..] : file) is var text && !text.Contains('\0', StringComparison.Ordinal) ? text : null;
        }
        catch (DecoderFallbackException)
        {
            return null;
        }
    }

    /// <summary>Whichever stands most often in the first line that says anything.</summary>
    private static string DelimiterOf(string text)
    {
        var header = text.AsSpan().EnumerateLines().GetEnumerator();
        while (header.MoveNext() && !header.Current.ContainsAnyInRange('A', 'z')) { }
        var (most, delimiter) = (0, ",");
        foreach (var one in new[] { ",", ";", "\t" })
        {
            if (header.Current.Count(one) is var count && count > most)
                (most, delimiter) = (count, one);
        }
        return delimiter;
    }
}

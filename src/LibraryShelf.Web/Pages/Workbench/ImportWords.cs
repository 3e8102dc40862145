using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What would come of a list, line by line.</summary>
internal static class ImportWords
{
    public static string Trouble(ImportTrouble trouble, int? line) => trouble switch
    {
        ImportTrouble.Empty => T("The list has no line beside its first."),
        ImportTrouble.TooBig => T($"The list weighs more than {Sizes.Of(ReadImport.MostBytes)}. Cut it in two and bring them one after the other."),
        ImportTrouble.TooManyLines => T($"The list has more than {ReadImport.MostLines:N0} lines. Cut it in two and bring them one after the other."),
        ImportTrouble.NotUtf8 => T("The list is not written in UTF-8. Save it anew as “CSV UTF-8”, and choose it again."),
        ImportTrouble.NoEmailColumn => T("The first line has no column named email. Write the columns’ names there, such as: email,member_from,member_until,note,consent"),
        _ when line is { } at => T($"A quotation mark is not closed, or stands within a value, near line {at}. Write a value with a quotation mark in quotation marks, and the mark itself twice."),
        _ => T("A quotation mark is not closed, or stands within a value. Write a value with a quotation mark in quotation marks, and the mark itself twice."),
    };

    public static string Of(ImportLine line, DateTimeZone zone) => line switch
    {
        { Fault: { } fault } => Fault(fault, line.TwinOf),
        { IsTaken: true } => T("brought here by this very list before"),
        { Gets: { } gets } => string.Join(", ", new[]
        {
            line.IsNew ? T("new") : T("known already"),
            gets.Until is { } until
                ? T($"a membership from {Dates.ShortDay(gets.From, zone)} to {MemberWords.LastDay(until, zone)}")
                : T($"a membership from {Dates.ShortDay(gets.From, zone)}, no end"),
            line.Pays ? T("besides the one they pay for") : null,
        }.OfType<string>()),
        { IsMember: true } => T("has that membership already: nothing new"),
        { IsNew: true } => T("new, without a membership"),
        _ => T("known already: nothing new"),
    };

    private static string Fault(ImportFault fault, int? twin) => fault switch
    {
        ImportFault.NoAddress => T("no e-mail address"),
        ImportFault.FromIsNoDay => T("member_from is no day: write it as 2027-03-31"),
        ImportFault.UntilIsNoDay => T("member_until is no day: write it as 2027-03-31"),
        ImportFault.EndsBeforeItStarts => T("member_until is before member_from"),
        ImportFault.TwiceInList => T($"the same person as on line {twin}"),
        _ => T("your own address"),
    };
}

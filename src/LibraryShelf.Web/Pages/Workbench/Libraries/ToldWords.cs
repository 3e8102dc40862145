using LibraryShelf.Core.Faults;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>What people told of a library, in sentences around their own words.</summary>
internal static class ToldWords
{
    /// <summary>What became of a settled one: "mended in 1.2.0, told".</summary>
    public static string Became(FaultLine line) => line switch
    {
        { MendedIn: { } mended, Report.ToldAt: null } => T($"mended in {mended}"),
        { MendedIn: { } mended } => T($"mended in {mended}, told"),
        { Report.Answer.Length: > 0 } => T($"put away: {line.Report.Answer}"),
        _ => T("put away"),
    };

    /// <summary>"Key C4, heard in 1.0.0".</summary>
    public static string Heard(FaultLine line) => line.Report.Key is { } key ? T($"Key {Notes.Name(key)}, heard in {line.Number}") : T($"No key named, heard in {line.Number}");

    /// <summary>When, and whether an answer can reach whoever told it.</summary>
    public static string Told(FaultLine line, DateTimeZone zone)
    {
        var day = Dates.Day(line.Report.ReportedAt, zone);
        return line.HasReporter ? T($"Told on {day} by someone who is told when it is mended.") : T($"Told on {day} by a visitor, who can’t be answered.");
    }
}

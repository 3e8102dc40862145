using System.Text.RegularExpressions;
using LibraryShelf.Core.Alerts;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Where to look at what an alert is about.</summary>
internal static partial class AlertPlaces
{
    /// <summary>An address and its words; null when there is no page for it.</summary>
    public static (string Address, string Words)? Of(Alert alert) => alert.Kind switch
    {
        AlertKind.MailNotSent => ("/workbench/outbox", T("See the outbox")),
        AlertKind.JobFailed when AboutRelease.Match(alert.Subject) is { Success: true } match =>
            ($"/workbench/releases/{match.Groups["id"].Value}{(match.Groups["job"].Value == "Seal" ? "/seal" : "")}", T("See the version")),
        AlertKind.JobFailed when alert.Subject.StartsWith("DropJob(", StringComparison.Ordinal) => ("/workbench/drops", T("See the drops")),
        AlertKind.JobFailed or AlertKind.BackupOld => ("/workbench/jobs", T("See the jobs")),
        AlertKind.ClockJumped => ("/workbench/drops", T("See the drops")),
        _ => null,
    };

    [GeneratedRegex(@"^(?<job>Check|Seal)Job\((?<id>[0-9]{1,19})\)$", RegexOptions.NonBacktracking | RegexOptions.ExplicitCapture)]
    private static partial Regex AboutRelease { get; }
}

namespace LibraryShelf.Core.Alerts;

/// <summary>What each kind is called on the page and in the subject of a mail.</summary>
public static class AlertWords
{
    public static string Title(AlertKind kind) => kind switch
    {
        AlertKind.JobFailed => "something was not done",
        AlertKind.DiskNearlyFull => "the disk is nearly full",
        AlertKind.MailNotSent => "mail was not sent",
        AlertKind.PaymentsMissed => "messages about payments are missing",
        AlertKind.ClockJumped => "the server's clock may be wrong",
        AlertKind.BackupOld => "the newest backup is old",
        AlertKind.DownloadsUncounted => "some downloads were not counted",
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };
}

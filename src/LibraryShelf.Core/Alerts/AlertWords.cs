namespace LibraryShelf.Core.Alerts;

/// <summary>What each kind is called on the page and in the subject of a mail.</summary>
public static class AlertWords
{
    public static string Title(AlertKind kind) => kind switch
    {
        AlertKind.JobFailed => T("something was not done"),
        AlertKind.DiskNearlyFull => T("the disk is nearly full"),
        AlertKind.MailNotSent => T("mail was not sent"),
        AlertKind.PaymentsMissed => T("messages about payments are missing"),
        AlertKind.ClockJumped => T("the server's clock may be wrong"),
        AlertKind.BackupOld => T("the newest backup is old"),
        AlertKind.DownloadsUncounted => T("some downloads were not counted"),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };
}

namespace LibraryShelf.Core.Alerts;

/// <summary>What each kind is called.</summary>
public static class AlertWords
{
    /// <summary>Behind the shop's name in the subject of a mail, and between words.</summary>
    public static string Title(AlertKind kind) => kind switch
    {
        AlertKind.JobFailed => T("something was not done"),
        AlertKind.DiskNearlyFull => T("the disk is nearly full"),
        AlertKind.MailNotSent => T("mail was not sent"),
        AlertKind.PaymentsMissed => T("messages about payments are missing"),
        AlertKind.ClockJumped => T("the server’s clock may be wrong"),
        AlertKind.BackupOld => T("the newest backup is old"),
        AlertKind.DownloadsUncounted => T("some downloads were not counted"),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };

    /// <summary>The same over what is said of it.</summary>
    public static string Heading(AlertKind kind) => kind switch
    {
        AlertKind.JobFailed => T("Something was not done"),
        AlertKind.DiskNearlyFull => T("The disk is nearly full"),
        AlertKind.MailNotSent => T("Mail was not sent"),
        AlertKind.PaymentsMissed => T("Messages about payments are missing"),
        AlertKind.ClockJumped => T("The server’s clock may be wrong"),
        AlertKind.BackupOld => T("The newest backup is old"),
        AlertKind.DownloadsUncounted => T("Some downloads were not counted"),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };
}

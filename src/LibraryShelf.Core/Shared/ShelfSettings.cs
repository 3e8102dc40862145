using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Shared;

/// <summary>Every setting of the shelf with its bounds, section "Shelf". Checked at start; a bad one stops the start with its name.</summary>
public sealed class ShelfSettings : IValidatableObject
{
    public const string Section = "Shelf";

    /// <summary>The one folder that holds everything: database, blobs, uploads, outbox.</summary>
    [Required]
    public string DataDirectory { get; set; } = "data";

    /// <summary>What people read: an IETF language tag whose file is in the folder "languages" (docs/texts.md); en needs none. Read, and refused, before everything else.</summary>
    public string Language { get; set; } = "en";

    /// <summary>The shelf's address as people type it, for links in mails; empty: taken from the request.</summary>
    public string PublicUrl { get; set; } = "";

    /// <summary>
    /// Where a reverse proxy stands whose X-Forwarded-For and X-Forwarded-Proto are believed: loopback, private, or networks with commas between
    /// (<see cref="TrustedNetworks"/>). Empty: nowhere, and whoever asks is counted as whoever connects.
    /// </summary>
    public string BehindProxy { get; set; } = "";

    [ValidateObjectMembers] public DatabaseSettings Database { get; set; } = new();
    [ValidateObjectMembers] public LinkSettings Links { get; set; } = new();
    [ValidateObjectMembers] public BandwidthSettings Bandwidth { get; set; } = new();
    [ValidateObjectMembers] public IntakeSettings Intake { get; set; } = new();
    [ValidateObjectMembers] public MailSettings Mail { get; set; } = new();
    [ValidateObjectMembers] public SignInSettings SignIn { get; set; } = new();
    [ValidateObjectMembers] public FaultSettings Faults { get; set; } = new();
    [ValidateObjectMembers] public DiskSettings Disk { get; set; } = new();
    [ValidateObjectMembers] public MembershipSettings Membership { get; set; } = new();
    [ValidateObjectMembers] public PaymentSettings Payments { get; set; } = new();
    [ValidateObjectMembers] public BackupSettings Backup { get; set; } = new();

    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (TrustedNetworks.Read(BehindProxy) is null)
            yield return new(T("Shelf:BehindProxy is loopback, private, or networks such as 10.4.0.0/16 with commas between."), [nameof(BehindProxy)]);
        // Mails that follow from a payment are written without any request that could tell the address, and each holds the way out.
        if (Payments.Key.Length > 0 && string.IsNullOrWhiteSpace(PublicUrl))
            yield return new(T("Shelf:Payments:Key needs Shelf:PublicUrl too: the mails that follow from a payment name the page where it is left."), [nameof(PublicUrl)]);
        // A backup that goes with what it is a copy of is none; and a backup of the backups would grow each night.
        if (Backup.Directory.Length > 0 && IsWithin(Backup.Directory, DataDirectory))
            yield return new(T("Shelf:Backup:Directory can’t lie in Shelf:DataDirectory: what takes the one takes the other. Name a folder on another disk."), [nameof(Backup)]);
    }

    private static bool IsWithin(string folder, string other) =>
        (Path.GetFullPath(folder) + Path.DirectorySeparatorChar).StartsWith(Path.GetFullPath(other).TrimEnd(Path.DirectorySeparatorChar) + Path.DirectorySeparatorChar, StringComparison.Ordinal);

    [ValidateObjectMembers] public PrivacySettings Privacy { get; set; } = new();
}

public sealed class DatabaseSettings : IValidatableObject
{
    public const string Sqlite = "sqlite", Postgres = "postgres";

    /// <summary>sqlite: one file in the data directory. postgres: a PostgreSQL database, found by <see cref="Connection"/>.</summary>
    [AllowedValues(Sqlite, Postgres)] public string Provider { get; set; } = Sqlite;

    /// <summary>With postgres only: "Host=…;Database=…;Username=…;Password=…". Holds a secret: never log it.</summary>
    public string Connection { get; set; } = "";

    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (Provider == Postgres && string.IsNullOrWhiteSpace(Connection))
            yield return new(
                T("Shelf:Database:Provider is postgres, so Shelf:Database:Connection has to say where: Host=…;Database=…;Username=…;Password=…"),
                [nameof(Connection)]);
    }
}

public sealed class LinkSettings
{
    public const int MaxStartMinutes = 24 * 60;
    public const int MaxResumeHours = 24 * 14;

    /// <summary>How long a made link may start a download, minutes.</summary>
    [Range(1, MaxStartMinutes)] public int StartMinutes { get; set; } = 30;
    /// <summary>How long a started download may be resumed, hours, counted from the end of the start window.</summary>
    [Range(1, MaxResumeHours)] public int ResumeHours { get; set; } = 24;
    /// <summary>How old the key that signs links may become before the sweep makes a new one, days.</summary>
    [Range(1, 3650)] public int RotateDays { get; set; } = 90;
    /// <summary>How many times its archive's bytes one link hands over before it is used up.</summary>
    [Range(1, 100)] public int MostDownloads { get; set; } = 5;
    /// <summary>
    /// How many links one person, or one network address of visitors, may have made in ten minutes. Each is a pressed button: far
    /// above someone who fetches a whole shelf, far below a program that fills the table of downloads.
    /// </summary>
    [Range(10, 100_000)] public int MostMade { get; set; } = 120;
}

/// <summary>What downloads take of the server's line. All zero: as much as there is, and nobody waits.</summary>
public sealed class BandwidthSettings : IValidatableObject
{
    /// <summary>The smallest line that can be meant, 64 KiB a second: one piece.</summary>
    private const long Smallest = 64 * 1024;

    /// <summary>All downloads together, bytes a second, shared fairly by those that run; 0: no limit.</summary>
    [Range(0, long.MaxValue)] public long TotalBytesPerSecond { get; set; }
    /// <summary>How many downloads run at once; who comes later waits for a turn; 0: no limit.</summary>
    [Range(0, 1_000_000)] public int MostAtOnce { get; set; }
    /// <summary>Who would make everybody's share smaller than this waits for a turn, bytes a second; 0: shares may be as small as they come.</summary>
    [Range(0, long.MaxValue)] public long LeastShare { get; set; }

    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (TotalBytesPerSecond is > 0 and < Smallest)
            yield return new(T("Shelf:Bandwidth:TotalBytesPerSecond is in bytes a second, from 65536: 125000000 is a line of 1 Gbit/s. 0 sets no limit."), [nameof(TotalBytesPerSecond)]);
        if (LeastShare > TotalBytesPerSecond)
            yield return new(T("Shelf:Bandwidth:LeastShare is a part of Shelf:Bandwidth:TotalBytesPerSecond, so it can’t be larger."), [nameof(LeastShare)]);
    }
}

public sealed class IntakeSettings
{
    /// <summary>Largest single upload (a recording, or a whole .zip), bytes.</summary>
    [Range(1024, long.MaxValue)] public long MaxUploadBytes { get; set; } = 16L << 30;
    [Range(1, 1_000_000)] public int MaxFiles { get; set; } = 20_000;
    /// <summary>All files of one release together, bytes.</summary>
    [Range(1024, long.MaxValue)] public long MaxReleaseBytes { get; set; } = 64L << 30;
}

public sealed class MailSettings : IValidatableObject
{
    /// <summary>Empty: mails are written as .eml files into the outbox folder, readable at the workbench.</summary>
    public string SmtpHost { get; set; } = "";
    [Range(1, 65535)] public int SmtpPort { get; set; } = 587;
    public string SmtpUser { get; set; } = "";
    public string SmtpPassword { get; set; } = "";
    /// <summary>auto, starttls, tls or none (none only towards a relay on the same machine).</summary>
    [AllowedValues("auto", "starttls", "tls", "none")] public string SmtpSecurity { get; set; } = "auto";
    public string FromAddress { get; set; } = "";
    /// <summary>Over how many hours the mails of a month's drop go out, so that not everybody downloads at once; 0: as fast as they can.</summary>
    [Range(0, 72)] public int SpreadHours { get; set; }
    /// <summary>How many mails may be sent in any hour; 0: as many as there are. Sign-in mails are counted, and never wait for it.</summary>
    [Range(0, 1_000_000)] public int MostAnHour { get; set; }
    /// <summary>A private RSA key in PEM with which each mail is signed (DKIM, RFC 6376); empty: the mail server signs.</summary>
    public string DkimKeyFile { get; set; } = "";
    /// <summary>Under which name the public key stands in the DNS: SELECTOR._domainkey.DOMAIN.</summary>
    public string DkimSelector { get; set; } = "";
    /// <summary>The domain that signs; the one of <see cref="FromAddress"/>, for receivers to count it.</summary>
    public string DkimDomain { get; set; } = "";

    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (DkimKeyFile.Length > 0 && (DkimSelector.Length == 0 || DkimDomain.Length == 0))
            yield return new(T("Shelf:Mail:DkimKeyFile needs Shelf:Mail:DkimSelector and Shelf:Mail:DkimDomain too: a signature says where its public key stands."), [nameof(DkimKeyFile)]);
    }
}

public sealed class SignInSettings
{
    /// <summary>How long a mailed sign-in works, minutes.</summary>
    [Range(5, 24 * 60)] public int TicketMinutes { get; set; } = 30;
    /// <summary>How often one network address may ask for a sign-in or try one, and how often show a wrong upload token, in ten minutes.</summary>
    [Range(5, 10_000)] public int MostTries { get; set; } = 30;
}

public sealed class FaultSettings
{
    /// <summary>How many faults one person, or one network address of visitors, may tell the maker of in ten minutes.</summary>
    [Range(1, 10_000)] public int MostTold { get; set; } = 10;
}

public sealed class MembershipSettings
{
    /// <summary>How long a membership whose renewal was not paid still counts, days.</summary>
    [Range(0, 60)] public int GraceDays { get; set; } = 7;
    /// <summary>How long someone who joined may take it back and have the payment returned, days; 0: not at all. Law may ask for more: 14 in the European Union and the United Kingdom.</summary>
    [Range(0, 365)] public int WithdrawDays { get; set; } = 14;
    /// <summary>How long before a renewal may cost another price its payer must have been told, days. Law may ask for more.</summary>
    [Range(1, 365)] public int PriceNoticeDays { get; set; } = 30;
}

/// <summary>Where the money comes in. Without a key, and without practice, joining is closed.</summary>
public sealed class PaymentSettings : IValidatableObject
{
    /// <summary>Stripe's secret key ("sk_…"). Holds a secret: never log it.</summary>
    public string Key { get; set; } = "";
    /// <summary>The signing secret of the address its messages come to ("whsec_…"). Holds a secret: never log it.</summary>
    public string MessageSecret { get; set; } = "";
    /// <summary>Stripe works out the tax of each payment, by what is set there. It files nothing.</summary>
    public bool ComputeTax { get; set; }
    /// <summary>The stand-in on this machine: no money moves.</summary>
    public bool Practice { get; set; }

    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (Practice && Key.Length > 0)
            yield return new(T("Shelf:Payments:Practice and Shelf:Payments:Key exclude each other: choose practice, or money."), [nameof(Practice)]);
        if (Key.Length > 0 && MessageSecret.Length == 0)
            yield return new(T("Shelf:Payments:Key needs Shelf:Payments:MessageSecret too, or no message of Stripe’s could be believed."), [nameof(MessageSecret)]);
    }
}

/// <summary>The nightly backup.</summary>
public sealed class BackupSettings
{
    /// <summary>The folder for backups, on another disk; it has to be there. Empty: none are made.</summary>
    public string Directory { get; set; } = "";
    /// <summary>At which hour of the day, UTC.</summary>
    [Range(0, 23)] public int Hour { get; set; } = 3;
    /// <summary>How many of the newest stay whatever their age; never more than <see cref="KeepDays"/>.</summary>
    public const int LeastKept = 7;

    /// <summary>How long a backup is kept, days; the newest <see cref="LeastKept"/> stay whatever their age.</summary>
    [Range(1, 365)] public int KeepDays { get; set; } = 30;
}

public sealed class PrivacySettings
{
    /// <summary>
    /// How long payments of somebody who had themselves deleted are kept, without their address: whole years after the end of the year of the last
    /// payment. Law differs by country (often 6 to 10); ask a tax adviser. 0: no longer than a day.
    /// </summary>
    [Range(0, 30)] public int KeepPaymentsYears { get; set; } = 10;

    /// <summary>How long it is kept which bytes of a download were handed over when, months, once they are counted and its link is over, and which downloads of a day were one visitor's. What was counted stays.</summary>
    [Range(1, 1200)] public int KeepEventsMonths { get; set; } = 13;
}

/// <summary>When the maker is told that a disk is nearly full; the larger of the two holds.</summary>
public sealed class DiskSettings
{
    /// <summary>Free space below this is nearly full, bytes; 0: never.</summary>
    [Range(0, long.MaxValue)] public long NearlyFullBytes { get; set; } = 5_000_000_000;
    /// <summary>The same in hundredths of the whole disk; 0: only the bytes count.</summary>
    [Range(0, 90)] public int NearlyFullPercent { get; set; }
    /// <summary>What uploads leave free for the database and everything else, bytes; never more than a twentieth of the disk.</summary>
    [Range(0, long.MaxValue)] public long ReserveBytes { get; set; } = 1_000_000_000;

    /// <summary>Bytes that uploads leave free on a disk of <paramref name="total"/> bytes.</summary>
    public long Reserve(long total) => Math.Min(ReserveBytes, total / 20);

    /// <summary>Free bytes below which a disk of <paramref name="total"/> bytes is nearly full.</summary>
    public long NearlyFull(long total) => Math.Max(NearlyFullBytes, total / 100 * NearlyFullPercent);
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Alerts;

public enum AlertKind { JobFailed, DiskNearlyFull, MailNotSent, PaymentsMissed, ClockJumped, BackupOld, DownloadsUncounted }

/// <summary>
/// Something the maker has to know about that happened while nobody was looking. One row per kind and subject: what happens
/// again is counted on it, what is over is settled on it, and what comes back after that is a new case on the same row.
/// </summary>
public sealed class Alert
{
    public long Id { get; set; }
    public AlertKind Kind { get; set; }
    /// <summary>What it is about, such as "CheckJob(19)"; "" when there is but one of its kind.</summary>
    public string Subject { get; set; } = "";
    /// <summary>What happened, what is kept, what to do: shown on the workbench's first page and mailed.</summary>
    public string Words { get; set; } = "";
    /// <summary>When this case began.</summary>
    public DateTimeOffset RaisedAt { get; set; }
    public DateTimeOffset LastSeenAt { get; set; }
    /// <summary>How often it was seen since <see cref="RaisedAt"/>, at least 1.</summary>
    public int Times { get; set; }
    /// <summary>It is over, by itself or because the maker put it away; null: it stands.</summary>
    public DateTimeOffset? SettledAt { get; set; }
    /// <summary>The mail about this case was written into the outbox.</summary>
    public DateTimeOffset? MailedAt { get; set; }
}

public sealed class AlertConfiguration : IEntityTypeConfiguration<Alert>
{
    public void Configure(EntityTypeBuilder<Alert> builder)
    {
        builder.Property(a => a.Kind).HasConversion<string>();
        builder.HasIndex(a => new { a.Kind, a.Subject }).IsUnique();
    }
}

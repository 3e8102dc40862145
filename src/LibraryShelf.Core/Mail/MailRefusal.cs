using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Mail;

/// <summary>Somebody wants no mails of this kind.</summary>
public sealed class MailRefusal
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public MailKind Kind { get; set; }
    public DateTimeOffset At { get; set; }
}

/// <summary>An address whose mailbox refused for good; nothing but what somebody asks for with it is sent there, until the maker lifts it.</summary>
public sealed class MailSuppression
{
    public long Id { get; set; }
    /// <summary>Unique.</summary>
    public string NormalizedEmail { get; set; } = "";
    /// <summary>What the other side said, or the maker.</summary>
    public string Because { get; set; } = "";
    public DateTimeOffset At { get; set; }
}

public sealed class MailRefusalConfiguration : IEntityTypeConfiguration<MailRefusal>, IEntityTypeConfiguration<MailSuppression>
{
    public void Configure(EntityTypeBuilder<MailRefusal> builder)
    {
        builder.HasIndex(r => new { r.PersonId, r.Kind }).IsUnique();
        builder.Property(r => r.Kind).HasConversion<string>();
    }

    public void Configure(EntityTypeBuilder<MailSuppression> builder) => builder.HasIndex(s => s.NormalizedEmail).IsUnique();
}

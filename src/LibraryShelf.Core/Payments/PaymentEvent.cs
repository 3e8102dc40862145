using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>A message of the payment provider, kept once before anything is done about it. It says where to look, nothing more.</summary>
public sealed class PaymentEvent
{
    public long Id { get; set; }
    /// <summary>The provider's own name for it ("evt_…").</summary>
    public string ProviderId { get; set; } = "";
    /// <summary>As the provider calls it ("invoice.paid").</summary>
    public string Kind { get; set; } = "";
    public SubjectKind? SubjectKind { get; set; }
    public string? SubjectId { get; set; }
    public DateTimeOffset ReceivedAt { get; set; }
    /// <summary>When what it names was looked at; null: not yet.</summary>
    public DateTimeOffset? DoneAt { get; set; }
    public int Tries { get; set; }
    public DateTimeOffset? NextTryAt { get; set; }
    /// <summary>Why looking failed, in words for the maker.</summary>
    public string? Trouble { get; set; }
}

public sealed class PaymentEventConfiguration : IEntityTypeConfiguration<PaymentEvent>
{
    public void Configure(EntityTypeBuilder<PaymentEvent> builder)
    {
        builder.HasIndex(e => e.ProviderId).IsUnique();
        builder.HasIndex(e => e.DoneAt);
        builder.Property(e => e.SubjectKind).HasConversion<string>();
    }
}

using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>A payment for a membership, as the provider last told it.</summary>
public sealed class Payment
{
    /// <summary>The provider's name for the invoice ("in_…").</summary>
    public string Id { get; set; } = "";
    public long PaidMembershipId { get; set; }
    public long PersonId { get; set; }
    /// <summary>In the currency's smallest unit.</summary>
    public long Minor { get; set; }
    /// <summary>What the invoice came to, before any credit was taken off, in the same unit.</summary>
    public long PriceMinor { get; set; }
    /// <summary>ISO 4217 code.</summary>
    public string Currency { get; set; } = "";
    /// <summary>1 or 12.</summary>
    public int Months { get; set; }
    public DateTimeOffset PeriodStart { get; set; }
    public DateTimeOffset PeriodEnd { get; set; }
    public DateTimeOffset PaidAt { get; set; }
    public long RefundedMinor { get; set; }
    /// <summary>Paid back whole, or a dispute lost.</summary>
    public DateTimeOffset? TakenBackAt { get; set; }
    public bool IsDisputeLost { get; set; }

    public PaymentFact Fact() => new(Id, PaidMembershipId, Months, PeriodStart, PaidAt, TakenBackAt);
}

public sealed class PaymentConfiguration : IEntityTypeConfiguration<Payment>
{
    public void Configure(EntityTypeBuilder<Payment> builder)
    {
        builder.Property(p => p.Id).ValueGeneratedNever();
        builder.HasIndex(p => p.PersonId);
        builder.HasOne<PaidMembership>().WithMany().HasForeignKey(p => p.PaidMembershipId).OnDelete(DeleteBehavior.Restrict);
    }
}

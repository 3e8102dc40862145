using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Payments;

/// <summary>A month slipped, and everyone who paid for it is credited with what it cost them. Once for a month.</summary>
public sealed class MonthCredit
{
    public long Id { get; set; }
    public YearMonth Month { get; set; }
    /// <summary>In the maker's words; stands in the mail.</summary>
    public string Reason { get; set; } = "";
    public DateTimeOffset DecidedAt { get; set; }
    /// <summary>When the last of those who had paid by then had a line and a mail; null: they are being written.</summary>
    public DateTimeOffset? WrittenAt { get; set; }
}

/// <summary>What one person is credited with.</summary>
public sealed class MonthCreditLine
{
    public long MonthCreditId { get; set; }
    public long PersonId { get; set; }
    /// <summary>The payment that paid for the month.</summary>
    public string PaymentId { get; set; } = "";
    public long PaidMembershipId { get; set; }
    /// <summary>In the currency's smallest unit: of a year's payment, a twelfth.</summary>
    public long Minor { get; set; }
    /// <summary>ISO 4217 code.</summary>
    public string Currency { get; set; } = "";
    /// <summary>When the provider had it; null: on its way.</summary>
    public DateTimeOffset? CreditedAt { get; set; }
    /// <summary>
    /// Paid back instead, because no payment will follow from which it could be taken. Decided, and kept, before the provider is asked; the month
    /// stays theirs all the same.
    /// </summary>
    public bool IsPaidBack { get; set; }
    /// <summary>How much goes back, where it is paid back: no more than what was left of the payment then.</summary>
    public long BackMinor { get; set; }
    /// <summary>When it was decided that what had been taken off a next payment is paid back instead, because none follows; null: it was not.</summary>
    public DateTimeOffset? MovedAt { get; set; }
    /// <summary>After a try in vain.</summary>
    public DateTimeOffset? NextTryAt { get; set; }
}

public sealed class MonthCreditConfiguration : IEntityTypeConfiguration<MonthCredit>
{
    public void Configure(EntityTypeBuilder<MonthCredit> builder) => builder.HasIndex(c => c.Month).IsUnique();
}

public sealed class MonthCreditLineConfiguration : IEntityTypeConfiguration<MonthCreditLine>
{
    public void Configure(EntityTypeBuilder<MonthCreditLine> builder)
    {
        builder.HasKey(l => new { l.MonthCreditId, l.PersonId });
        builder.HasIndex(l => l.CreditedAt);
        builder.HasOne<MonthCredit>().WithMany().HasForeignKey(l => l.MonthCreditId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<PaidMembership>().WithMany().HasForeignKey(l => l.PaidMembershipId).OnDelete(DeleteBehavior.Restrict);
    }
}

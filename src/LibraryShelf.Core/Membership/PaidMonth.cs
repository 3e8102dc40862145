using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>
/// A month a person's payments pay for, as <see cref="PaidMonths"/> worked it out: that month's libraries are theirs for good. Written anew, for one
/// person at a time, whenever their payments are read (<see cref="KeepPaidMonths"/>); a month that was taken back has no row.
/// </summary>
public sealed class PaidMonth
{
    public long PersonId { get; set; }
    public YearMonth Month { get; set; }
    /// <summary>The provider's name for the invoice that paid it.</summary>
    public string PaymentId { get; set; } = "";
    public DateTimeOffset OpensAt { get; set; }
}

public sealed class PaidMonthConfiguration : IEntityTypeConfiguration<PaidMonth>
{
    public void Configure(EntityTypeBuilder<PaidMonth> builder)
    {
        builder.HasKey(m => new { m.PersonId, m.Month });
        builder.HasOne<Person>().WithMany().HasForeignKey(m => m.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}

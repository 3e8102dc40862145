using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>The mailed link by which someone leaves or withdraws without signing in. It opens nothing else, and stays good while the membership runs.</summary>
public sealed class LeaveTicket
{
    public long Id { get; set; }
    public long PaidMembershipId { get; set; }
    /// <summary>SHA-256 of the link's token, lower-case hex.</summary>
    public string TokenHash { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
}

public sealed class LeaveTicketConfiguration : IEntityTypeConfiguration<LeaveTicket>
{
    public void Configure(EntityTypeBuilder<LeaveTicket> builder)
    {
        builder.HasIndex(t => t.TokenHash).IsUnique();
        builder.HasOne<PaidMembership>().WithMany().HasForeignKey(t => t.PaidMembershipId).OnDelete(DeleteBehavior.Cascade);
    }
}

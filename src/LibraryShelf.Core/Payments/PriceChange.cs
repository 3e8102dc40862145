using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>Those who pay one plan will pay another: told at once, in force for each from the first renewal after <see cref="From"/>.</summary>
public sealed class PriceChange
{
    public long Id { get; set; }
    public long FromPlanId { get; set; }
    public long ToPlanId { get; set; }
    /// <summary>The first instant at which a renewal costs the new price.</summary>
    public DateTimeOffset From { get; set; }
    /// <summary>In the maker's words; stands in the mail.</summary>
    public string Reason { get; set; } = "";
    public DateTimeOffset AnnouncedAt { get; set; }
    /// <summary>When the last of those concerned had a line and a mail; null: they are being written.</summary>
    public DateTimeOffset? ToldAllAt { get; set; }
    /// <summary>Those it was not applied to by then keep the old price.</summary>
    public DateTimeOffset? CalledOffAt { get; set; }
}

/// <summary>One membership a change of price concerns.</summary>
public sealed class PriceChangeLine
{
    public long PriceChangeId { get; set; }
    public long PaidMembershipId { get; set; }
    /// <summary>When the mail about it was written.</summary>
    public DateTimeOffset ToldAt { get; set; }
    /// <summary>When the provider took the new price.</summary>
    public DateTimeOffset? AppliedAt { get; set; }
    /// <summary>It had ended by then, or pays something else: nothing was changed.</summary>
    public DateTimeOffset? SkippedAt { get; set; }
    /// <summary>After a try in vain.</summary>
    public DateTimeOffset? NextTryAt { get; set; }
}

public sealed class PriceChangeConfiguration : IEntityTypeConfiguration<PriceChange>
{
    public void Configure(EntityTypeBuilder<PriceChange> builder)
    {
        builder.HasOne<Plan>().WithMany().HasForeignKey(c => c.FromPlanId).OnDelete(DeleteBehavior.Restrict);
        builder.HasOne<Plan>().WithMany().HasForeignKey(c => c.ToPlanId).OnDelete(DeleteBehavior.Restrict);
    }
}

public sealed class PriceChangeLineConfiguration : IEntityTypeConfiguration<PriceChangeLine>
{
    public void Configure(EntityTypeBuilder<PriceChangeLine> builder)
    {
        builder.HasKey(l => new { l.PriceChangeId, l.PaidMembershipId });
        builder.HasOne<PriceChange>().WithMany().HasForeignKey(l => l.PriceChangeId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<PaidMembership>().WithMany().HasForeignKey(l => l.PaidMembershipId).OnDelete(DeleteBehavior.Restrict);
    }
}

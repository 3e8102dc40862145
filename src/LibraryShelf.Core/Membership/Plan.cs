using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Membership;

/// <summary>
/// What a membership costs. A price never changes: another price is another plan, so that what people joined under stays readable.
/// </summary>
public sealed class Plan
{
    public long Id { get; set; }
    /// <summary>1 or 12: how many months one payment pays for.</summary>
    public int Months { get; set; } = 1;
    /// <summary>As people pay it, in the currency's smallest unit.</summary>
    public long Minor { get; set; }
    /// <summary>ISO 4217 code.</summary>
    public string Currency { get; set; } = "EUR";
    /// <summary>The maker says that tax is in the price.</summary>
    public bool IsTaxIncluded { get; set; }
    /// <summary>The provider's name for this price; null: not made there yet.</summary>
    public string? ProviderId { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
    /// <summary>From then on nobody can join by it; who did, stays.</summary>
    public DateTimeOffset? ClosedAt { get; set; }
}

public sealed class PlanConfiguration : IEntityTypeConfiguration<Plan>
{
    public void Configure(EntityTypeBuilder<Plan> builder) => builder.HasIndex(p => p.ProviderId).IsUnique();
}

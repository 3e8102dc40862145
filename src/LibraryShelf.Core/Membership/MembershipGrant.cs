using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Membership;

/// <summary>A membership given by the maker's hand: as active from its start to its end.</summary>
public sealed class MembershipGrant
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public DateTimeOffset From { get; set; }
    /// <summary>Exclusive; null: until the maker ends it.</summary>
    public DateTimeOffset? Until { get; set; }
    public string Note { get; set; } = "";

    public bool IsActiveAt(DateTimeOffset instant) => From <= instant && (Until is null || instant < Until);
}

public sealed class MembershipGrantConfiguration : IEntityTypeConfiguration<MembershipGrant>
{
    public void Configure(EntityTypeBuilder<MembershipGrant> builder) => builder.HasIndex(g => g.PersonId);
}

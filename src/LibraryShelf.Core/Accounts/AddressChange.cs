using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>Somebody wants another address. It changes once both mailboxes have said yes, each by the link it was sent.</summary>
public sealed class AddressChange
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public string OldEmail { get; set; } = "";
    public string NewEmail { get; set; } = "";
    public string NormalizedNewEmail { get; set; } = "";
    /// <summary>SHA-256 of the token sent to the old address, lower-case hex.</summary>
    public string OldTokenHash { get; set; } = "";
    /// <summary>SHA-256 of the token sent to the new address, lower-case hex.</summary>
    public string NewTokenHash { get; set; } = "";
    public DateTimeOffset AskedAt { get; set; }
    public DateTimeOffset ExpiresAt { get; set; }
    public DateTimeOffset? OldSaidYesAt { get; set; }
    public DateTimeOffset? NewSaidYesAt { get; set; }
    /// <summary>Changed, refused by one of the two, or replaced by a later wish; null: waits.</summary>
    public DateTimeOffset? EndedAt { get; set; }
}

public sealed class AddressChangeConfiguration : IEntityTypeConfiguration<AddressChange>
{
    public void Configure(EntityTypeBuilder<AddressChange> builder)
    {
        builder.HasIndex(c => c.OldTokenHash).IsUnique();
        builder.HasIndex(c => c.NewTokenHash).IsUnique();
        builder.HasIndex(c => c.PersonId);
        builder.HasOne<Person>().WithMany().HasForeignKey(c => c.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}

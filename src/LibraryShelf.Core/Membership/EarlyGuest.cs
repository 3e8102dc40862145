using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Membership;

/// <summary>Someone chosen to have a version before it is published. The right is over once the version is published: then the common rule holds.</summary>
public sealed class EarlyGuest
{
    public long ReleaseId { get; set; }
    public long PersonId { get; set; }
    public DateTimeOffset AddedAt { get; set; }
}

public sealed class EarlyGuestConfiguration : IEntityTypeConfiguration<EarlyGuest>
{
    public void Configure(EntityTypeBuilder<EarlyGuest> builder)
    {
        builder.HasKey(g => new { g.ReleaseId, g.PersonId });
        builder.HasIndex(g => g.PersonId);
        builder.HasOne<Release>().WithMany().HasForeignKey(g => g.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<Person>().WithMany().HasForeignKey(g => g.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}

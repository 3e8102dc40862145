using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Publishing;

/// <summary>
/// Someone who fetched a version that was withdrawn was told so, and what became of it since. It is open while they have no good version in its
/// place: none was there for them, or the one they were offered was withdrawn too.
/// </summary>
public sealed class WithdrawalNotice
{
    /// <summary>The version that was withdrawn.</summary>
    public long ReleaseId { get; set; }
    public long PersonId { get; set; }
    public DateTimeOffset ToldAt { get; set; }
    /// <summary>The newer version they were last told of, or have fetched already; null: there is none for them yet.</summary>
    public long? OfferedReleaseId { get; set; }
}

public sealed class WithdrawalNoticeConfiguration : IEntityTypeConfiguration<WithdrawalNotice>
{
    public void Configure(EntityTypeBuilder<WithdrawalNotice> builder)
    {
        builder.HasKey(n => new { n.ReleaseId, n.PersonId });
        builder.HasIndex(n => n.PersonId);
        builder.HasIndex(n => new { n.OfferedReleaseId, n.PersonId });
        builder.HasOne<Release>().WithMany().HasForeignKey(n => n.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<Release>().WithMany().HasForeignKey(n => n.OfferedReleaseId).OnDelete(DeleteBehavior.SetNull);
        builder.HasOne<Person>().WithMany().HasForeignKey(n => n.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}

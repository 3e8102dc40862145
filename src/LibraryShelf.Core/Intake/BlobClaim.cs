using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Intake;

/// <summary>Keeps a blob from being collected while a draft that was told "the shelf has it" may still use it.</summary>
public sealed class BlobClaim
{
    public long ReleaseId { get; set; }
    public string Sha256 { get; set; } = "";
    public DateTimeOffset ClaimedAt { get; set; }
}

public sealed class BlobClaimConfiguration : IEntityTypeConfiguration<BlobClaim>
{
    public void Configure(EntityTypeBuilder<BlobClaim> builder)
    {
        builder.HasKey(c => new { c.ReleaseId, c.Sha256 });
        builder.HasIndex(c => c.Sha256);
    }
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Catalog;

public enum Audience { Free, Members }

/// <summary>A dated decision about who a library is for. Appended, never changed; the latest one holds.</summary>
public sealed class AudienceDecision
{
    public long Id { get; set; }
    public long LibraryId { get; set; }
    public Audience Audience { get; set; }
    public DateTimeOffset DecidedAt { get; set; }
}

public sealed class AudienceDecisionConfiguration : IEntityTypeConfiguration<AudienceDecision>
{
    public void Configure(EntityTypeBuilder<AudienceDecision> builder)
    {
        builder.Property(a => a.Audience).HasConversion<string>();
        builder.HasIndex(a => new { a.LibraryId, a.DecidedAt });
    }
}

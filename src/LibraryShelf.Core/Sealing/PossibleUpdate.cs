using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// What an update between two sealed versions of a library would be, one row a pair: worked out once, so that a page can offer it without
/// making it. Its recipe is made, as an <see cref="Archive"/>, when somebody presses the button.
/// </summary>
public sealed class PossibleUpdate
{
    /// <summary>The version it leads to: of the two, the one with the higher number.</summary>
    public long ReleaseId { get; set; }
    /// <summary>The version it is from.</summary>
    public long FromReleaseId { get; set; }
    /// <summary>Bytes of the archive; 0 when there is an obstacle.</summary>
    public long Bytes { get; set; }
    /// <summary>Why there is none, in words for people; null when there is one.</summary>
    public string? Obstacle { get; set; }
}

public sealed class PossibleUpdateConfiguration : IEntityTypeConfiguration<PossibleUpdate>
{
    public void Configure(EntityTypeBuilder<PossibleUpdate> builder)
    {
        builder.HasKey(u => new { u.ReleaseId, u.FromReleaseId });
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(u => u.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(u => u.FromReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>
/// How a drop was taken, in people: whose it was when it went out, and how many of them had finished one of its libraries, or the month as one archive. Rolled up by
/// <see cref="RollUpDrops"/>; may be rolled up again at any time and comes out the same.
/// </summary>
public sealed class DropUptake
{
    /// <summary>Within how many days of going out.</summary>
    public static readonly int[] Days = [1, 7, 30];

    public long DropId { get; set; }
    public int Holders { get; set; }
    public int After1 { get; set; }
    public int After7 { get; set; }
    public int After30 { get; set; }
    public int ByNow { get; set; }
    /// <summary>Raised with everything that changes what stands here.</summary>
    public long Changed { get; set; }
    /// <summary><see cref="Changed"/> as it was when it was last rolled up.</summary>
    public long Rolled { get; set; }
    public DateTimeOffset? RolledAt { get; set; }
}

public sealed class DropUptakeConfiguration : IEntityTypeConfiguration<DropUptake>
{
    public void Configure(EntityTypeBuilder<DropUptake> builder)
    {
        builder.HasKey(u => u.DropId);
        builder.Property(u => u.DropId).ValueGeneratedNever();
    }
}

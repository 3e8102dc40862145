using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Drops;

/// <summary>Where the server's clock was last seen, in one row: a clock that jumps is known by it (<see cref="WatchClock"/>).</summary>
public sealed class ClockMark
{
    public const long OnlyId = 1;

    public long Id { get; set; } = OnlyId;
    public DateTimeOffset SeenAt { get; set; }
    /// <summary>Where it stood before it last went ahead by more than <see cref="WatchClock.Farthest"/>; null: it never did, or has come back.</summary>
    public DateTimeOffset? JumpedFrom { get; set; }
}

public sealed class ClockMarkConfiguration : IEntityTypeConfiguration<ClockMark>
{
    public void Configure(EntityTypeBuilder<ClockMark> builder) => builder.Property(m => m.Id).ValueGeneratedNever();
}

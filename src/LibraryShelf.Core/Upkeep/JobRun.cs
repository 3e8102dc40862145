using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Upkeep;

/// <summary>The last run of one job, by its name; the queue forgets it when the program ends.</summary>
public sealed class JobRun
{
    public long Id { get; set; }
    /// <summary>Unique.</summary>
    public string Name { get; set; } = "";
    public DateTimeOffset StartedAt { get; set; }
    /// <summary>Null: it runs now, or the program died under it.</summary>
    public DateTimeOffset? EndedAt { get; set; }
    /// <summary>Why its last run did not do its work, in plain words; null: it did.</summary>
    public string? Trouble { get; set; }
}

public sealed class JobRunConfiguration : IEntityTypeConfiguration<JobRun>
{
    public void Configure(EntityTypeBuilder<JobRun> builder) => builder.HasIndex(r => r.Name).IsUnique();
}

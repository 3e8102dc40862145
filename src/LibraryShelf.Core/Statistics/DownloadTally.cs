using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Statistics;

/// <summary>What a download's events add up to; can be recounted from them at any time.</summary>
public sealed class DownloadTally
{
    public string DownloadId { get; set; } = "";
    /// <summary>The last event counted in.</summary>
    public long LastEventId { get; set; }
    /// <summary>Distinct bytes of the archive handed over.</summary>
    public long BytesCovered { get; set; }
    /// <summary>
    /// Which bytes they are, while the whole is not finished: <see cref="Coverage.Text"/>. So that counting goes on from here, instead of from the first event
    /// each time. Null: not kept; the events say it.
    /// </summary>
    public string? Parts { get; set; }
    /// <summary>The event that completed the whole: every byte served at least once.</summary>
    public DateTimeOffset? FinishedAt { get; set; }
}

public sealed class DownloadTallyConfiguration : IEntityTypeConfiguration<DownloadTally>
{
    public void Configure(EntityTypeBuilder<DownloadTally> builder)
    {
        builder.HasKey(t => t.DownloadId);
        builder.HasIndex(t => t.FinishedAt);
        // The highest is asked for with every count and every sweep.
        builder.HasIndex(t => t.LastEventId);
    }
}

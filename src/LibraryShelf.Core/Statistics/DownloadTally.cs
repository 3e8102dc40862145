using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Statistics;

/// <summary>What a download's events add up to; can be recounted from them at any time.</summary>
public sealed class DownloadTally
{
    /// <summary>Players and previews ask for two bytes to see whether ranges work (IAB Tech Lab, Podcast Technical Measurement Guidelines 2.3, §5.5.2).</summary>
    public const int MostProbeBytes = 2;

    /// <summary>A double click: the later one is kept (COUNTER Code of Practice 5.1, §7.2).</summary>
    public static readonly TimeSpan AgainWithin = TimeSpan.FromSeconds(30);

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
    /// <summary>
    /// When the first request came, once anything was handed over but a probe of up to <see cref="MostProbeBytes"/> bytes: it is started.
    /// </summary>
    public DateTimeOffset? StartedAt { get; set; }
    /// <summary>The same person or visitor started the same archive again within <see cref="AgainWithin"/>: that one is counted, this one is not.</summary>
    public bool IsAgain { get; set; }
    /// <summary>Requests answered with more bytes than a probe asks for.</summary>
    public int Requests { get; set; }
    /// <summary>Those that went on where an earlier one broke off, as the client proved.</summary>
    public int Resumes { get; set; }
    /// <summary>Handed over, those twice that went out twice; what a resume proved was handed over before.</summary>
    public long BytesServed { get; set; }
    /// <summary>The event that completed the whole: every byte served at least once.</summary>
    public DateTimeOffset? FinishedAt { get; set; }
}

public sealed class DownloadTallyConfiguration : IEntityTypeConfiguration<DownloadTally>
{
    public void Configure(EntityTypeBuilder<DownloadTally> builder)
    {
        builder.HasKey(t => t.DownloadId);
        builder.HasIndex(t => t.FinishedAt);
        builder.HasIndex(t => t.StartedAt);
        // The highest is asked for with every count and every sweep.
        builder.HasIndex(t => t.LastEventId);
    }
}

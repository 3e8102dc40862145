using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Checking;

/// <summary>What was measured of a recording, stored by content hash: an unchanged recording is never measured twice.</summary>
public sealed class Measurement
{
    public string Sha256 { get; set; } = "";
    /// <summary>Which generation of the measuring code made it; an older one is measured anew.</summary>
    public int Generation { get; set; }
    /// <summary>A RecordingFacts as JSON.</summary>
    public string Facts { get; set; } = "";
    public DateTimeOffset MeasuredAt { get; set; }
}

public sealed class MeasurementConfiguration : IEntityTypeConfiguration<Measurement>
{
    public void Configure(EntityTypeBuilder<Measurement> builder) => builder.HasKey(m => m.Sha256);
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// Bytes [<see cref="From"/>, <see cref="To"/>) of a download were handed over. Append-only. A resume at n with a matching
/// If-Range is evidence for [0, n) and is written as such.
/// </summary>
public sealed class DownloadEvent
{
    public long Id { get; set; }
    public string DownloadId { get; set; } = "";
    public long From { get; set; }
    public long To { get; set; }
    /// <summary>Not handed over now, but proved by a resume to have arrived before: counts as coverage, not as traffic.</summary>
    public bool IsEvidence { get; set; }
    /// <summary>The first of an answer: as many of these as requests were answered with bytes.</summary>
    public bool BeginsAnswer { get; set; }
    public DateTimeOffset At { get; set; }
}

public sealed class DownloadEventConfiguration : IEntityTypeConfiguration<DownloadEvent>
{
    public void Configure(EntityTypeBuilder<DownloadEvent> builder) => builder.HasIndex(e => e.DownloadId);
}

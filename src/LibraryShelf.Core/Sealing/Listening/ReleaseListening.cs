using System.Text.Json;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>
/// What can be heard of the version that its library's page plays, one row, written whole with its <see cref="ListeningFile"/>s: once for each generation. Without files: nothing of it can be
/// played, or it could not be made (<see cref="Trouble"/>).
/// </summary>
public sealed class ReleaseListening
{
    public long ReleaseId { get; set; }
    /// <summary><see cref="ListeningSet.Generation"/> when it was made.</summary>
    public int Generation { get; set; }
    /// <summary>An array of <see cref="Excerpt"/> as JSON.</summary>
    public string Excerpts { get; set; } = "[]";
    /// <summary>Of the playable set, in Ogg Opus.</summary>
    public int PlayableBytes { get; set; }
    /// <summary>What all its recordings were changed by, dB.</summary>
    public double GainDb { get; set; }
    /// <summary>The excerpts as one programme; null when too short to tell.</summary>
    public double? LoudnessLufs { get; set; }
    /// <summary>The greatest of all files; null without any.</summary>
    public double? TruePeakDbtp { get; set; }
    /// <summary>Why it could not be made, in words for the maker; null when all is well. It is tried again a day later.</summary>
    public string? Trouble { get; set; }
    public DateTimeOffset MadeAt { get; set; }

    public IReadOnlyList<Excerpt> ReadExcerpts() => JsonSerializer.Deserialize<List<Excerpt>>(Excerpts)!;
}

public sealed class ReleaseListeningConfiguration : IEntityTypeConfiguration<ReleaseListening>
{
    public void Configure(EntityTypeBuilder<ReleaseListening> builder)
    {
        builder.ToTable("ReleaseListenings");
        builder.HasKey(l => l.ReleaseId);
        builder.Property(l => l.ReleaseId).ValueGeneratedNever();
        builder.HasOne<Catalog.Release>().WithOne().HasForeignKey<ReleaseListening>(l => l.ReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}

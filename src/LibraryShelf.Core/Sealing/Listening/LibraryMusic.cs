using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing.Listening;

/// <summary>
/// A piece of music made with a library, to listen to on its page; one a library, if its maker adds one. What she sent is kept, and what is heard is made from it
/// (<see cref="MakeMusic"/>).
/// </summary>
public sealed class LibraryMusic
{
    public long LibraryId { get; set; }
    public string Title { get; set; } = "";
    /// <summary>Who made and played it, one line; may be empty.</summary>
    public string Credit { get; set; } = "";
    /// <summary>The recording as it was sent.</summary>
    public string SourceSha256 { get; set; } = "";
    public DateTimeOffset AddedAt { get; set; }
    /// <summary><see cref="Packaging.Listening.ListeningSet.Generation"/> when it was made; 0: not yet.</summary>
    public int Generation { get; set; }
    /// <summary>What is heard, in Ogg Opus and in WAV; null until it is made.</summary>
    public string? OpusSha256 { get; set; }
    public string? WavSha256 { get; set; }
    public double Seconds { get; set; }
    public double? LoudnessLufs { get; set; }
    public double? TruePeakDbtp { get; set; }
    /// <summary>Why it can't be heard, in words for the maker; null when all is well, or not known yet.</summary>
    public string? Trouble { get; set; }
}

public sealed class LibraryMusicConfiguration : IEntityTypeConfiguration<LibraryMusic>
{
    public void Configure(EntityTypeBuilder<LibraryMusic> builder)
    {
        builder.ToTable("LibraryMusic");
        builder.HasKey(m => m.LibraryId);
        builder.Property(m => m.LibraryId).ValueGeneratedNever();
        foreach (var hash in new[] { nameof(LibraryMusic.SourceSha256), nameof(LibraryMusic.OpusSha256), nameof(LibraryMusic.WavSha256) })
            builder.Property(hash).HasMaxLength(ContentHash.Digits);
        builder.HasOne<Catalog.Library>().WithOne().HasForeignKey<LibraryMusic>(m => m.LibraryId).OnDelete(DeleteBehavior.Cascade);
    }
}

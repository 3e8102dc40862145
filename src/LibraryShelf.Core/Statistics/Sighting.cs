using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>What was seen, and what <see cref="Sighting.Word"/> then is.</summary>
public enum SightingKind
{
    /// <summary>A request with a download link was answered: the status ("206"), or "HEAD" for one that asked for no bytes.</summary>
    Answer,
    /// <summary>Somebody came to a page of the shelf from another site: its host alone ("reeds.example").</summary>
    Referrer,
    /// <summary>A search on the shelf found nothing: what was looked for, in small letters.</summary>
    Search,
}

/// <summary>How often something was seen on one day of the shop's calendar. Says nothing of who.</summary>
public sealed class Sighting
{
    /// <summary>No longer: a host's name or what was looked for is cut off behind it.</summary>
    public const int MostLetters = 60;

    public LocalDate Day { get; set; }
    public SightingKind Kind { get; set; }
    /// <summary>The box whose page it was; 0: the shelf, or of no matter.</summary>
    public long LibraryId { get; set; }
    public string Word { get; set; } = "";
    public int Times { get; set; }
}

public sealed class SightingConfiguration : IEntityTypeConfiguration<Sighting>
{
    public void Configure(EntityTypeBuilder<Sighting> builder)
    {
        builder.HasKey(s => new { s.Day, s.Kind, s.LibraryId, s.Word });
        builder.Property(s => s.Kind).HasConversion<string>();
        // With all of it and by the word first, so that a year's words are added up in the order in which they stand: a quarter of the time for 120,000 rows.
        builder.HasIndex(s => new { s.Kind, s.Word, s.LibraryId, s.Day, s.Times });
    }
}

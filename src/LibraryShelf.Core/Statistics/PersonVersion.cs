using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// One version that was, for a while or until today, the newest of a library that a person had finished downloading: docs/counting.md, "Who is on which version".
/// Worked out of downloads and tallies by <see cref="RollUpVersions"/>; may be worked out again at any time and comes out the same.
/// </summary>
public sealed class PersonVersion
{
    public long PersonId { get; set; }
    public long LibraryId { get; set; }
    public long ReleaseId { get; set; }
    /// <summary>The one they had before; 0: none of this library.</summary>
    public long FromReleaseId { get; set; }
    /// <summary>The newer one they have had since; 0: this is the newest they have.</summary>
    public long NextReleaseId { get; set; }
    /// <summary>The version that had come out last when they first had any of this library; 0: none was out. Tells who had the library when a later one came out.</summary>
    public long LatestThenId { get; set; }
    /// <summary>When they first finished downloading it.</summary>
    public DateTimeOffset Since { get; set; }
    /// <summary>The same as a day of the shop.</summary>
    public LocalDate Day { get; set; }
}

/// <summary>How many people came to have a version as their newest on one day, from which, and since when they had the library: sums over <see cref="PersonVersion"/>, naming nobody.</summary>
public sealed class VersionMove
{
    public LocalDate Day { get; set; }
    public long LibraryId { get; set; }
    /// <summary>0: they had none of this library.</summary>
    public long FromReleaseId { get; set; }
    public long ReleaseId { get; set; }
    /// <summary>As <see cref="PersonVersion.LatestThenId"/>.</summary>
    public long LatestThenId { get; set; }
    public int People { get; set; }
}

/// <summary>Somebody whose versions of a library may have changed since they were worked out.</summary>
public sealed class VersionMark
{
    public long PersonId { get; set; }
    /// <summary>Whoever has a thousand downloads fetched one thing today: the others are not looked at for it. 0: of every library.</summary>
    public long LibraryId { get; set; }
}

/// <summary>How far everybody's versions are worked out; one row.</summary>
public sealed class VersionRoll
{
    public const int OnlyId = 1;

    public int Id { get; set; } = OnlyId;
    /// <summary>By which rules, and days of which zone: others make everybody's anew.</summary>
    public string By { get; set; } = "";
    /// <summary>While everybody's are made anew: the last person done. Null: all are.</summary>
    public long? After { get; set; }
    /// <summary>How many versions had come out when it was last looked whether one came out.</summary>
    public int Published { get; set; }
    public DateTimeOffset LookedAt { get; set; }
}

public sealed class PersonVersionConfiguration
    : IEntityTypeConfiguration<PersonVersion>, IEntityTypeConfiguration<VersionMove>, IEntityTypeConfiguration<VersionMark>, IEntityTypeConfiguration<VersionRoll>
{
    public void Configure(EntityTypeBuilder<PersonVersion> builder)
    {
        builder.HasKey(v => new { v.PersonId, v.LibraryId, v.ReleaseId });
        // Who has which as their newest; the person last, so that a page of them is read in order.
        builder.HasIndex(v => new { v.LibraryId, v.NextReleaseId, v.ReleaseId, v.PersonId });
    }

    public void Configure(EntityTypeBuilder<VersionMove> builder)
    {
        builder.HasKey(m => new { m.LibraryId, m.Day, m.FromReleaseId, m.ReleaseId, m.LatestThenId });
        // With the sum in it, so that a box's days are added up from the index alone: a quarter of the time for 147,000 moves.
        builder.HasIndex(m => new { m.LibraryId, m.Day, m.FromReleaseId, m.ReleaseId, m.LatestThenId, m.People });
    }

    public void Configure(EntityTypeBuilder<VersionMark> builder)
    {
        builder.HasKey(m => new { m.LibraryId, m.PersonId });
    }

    public void Configure(EntityTypeBuilder<VersionRoll> builder) => builder.Property(r => r.Id).ValueGeneratedNever();
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>What was fetched: stands in <see cref="DayCount.Kind"/>.</summary>
public enum FetchedKind
{
    /// <summary>A version, whole.</summary>
    Whole,
    /// <summary>A version, as an update from an earlier one.</summary>
    Update,
    /// <summary>A month as one archive; <see cref="DayCount.ReleaseId"/> is the first version in it.</summary>
    Month,
}

/// <summary>Whose fetching it was; each download is in exactly one.</summary>
public enum FetchedBy
{
    /// <summary>It was free for everyone.</summary>
    Free,
    /// <summary>By a right of their own: membership, a paid month, what they took or kept, or as an early guest.</summary>
    Members,
    /// <summary>A visitor's program that calls itself a robot, or started more in this day than a person would. Counted apart, in no other figure.</summary>
    Robots,
    /// <summary>The maker's own. In no figure but bytes.</summary>
    Maker,
}

/// <summary>
/// One day of the shop's calendar in numbers: what was started in it, and what was finished in it. Rolled up from downloads and tallies by
/// <see cref="RollUpDays"/>; may be rolled up again at any time and comes out the same.
/// </summary>
public sealed class DayCount
{
    public LocalDate Day { get; set; }
    public long LibraryId { get; set; }
    public long ReleaseId { get; set; }
    /// <summary>The drop whose month was fetched as one; 0: a version was.</summary>
    public long DropId { get; set; }
    public FetchedKind Kind { get; set; }
    public FetchedBy By { get; set; }
    /// <summary>Downloads started in this day, double clicks once.</summary>
    public int Started { get; set; }
    /// <summary>Downloads finished in this day, whenever they were started.</summary>
    public int Finished { get; set; }
    /// <summary>Of the downloads started in this day: those that are finished by now, whenever that was. The rest were begun and never finished.</summary>
    public int Ended { get; set; }
    /// <summary>Of the downloads started in this day, however long they took: requests answered with bytes.</summary>
    public int Requests { get; set; }
    /// <summary>The same: requests that went on where an earlier one broke off.</summary>
    public int Resumes { get; set; }
    /// <summary>The same: bytes handed over.</summary>
    public long Bytes { get; set; }
    /// <summary>Of the downloads started in this day those that are not finished by now, and of which the following is known. Days counted before this was kept have 0.</summary>
    public int Left { get; set; }
    /// <summary>Of these, that asked for more after their first answer.</summary>
    public int LeftAgain { get; set; }
    /// <summary>Of the same: bytes of their archives that were handed over, each once.</summary>
    public long LeftCovered { get; set; }
    /// <summary>Of the same: bytes of their archives.</summary>
    public long LeftLength { get; set; }
}

/// <summary>How many different people started a download in a day.</summary>
public sealed class DayPeople
{
    public LocalDate Day { get; set; }
    /// <summary>0: of all libraries, each of these people once.</summary>
    public long LibraryId { get; set; }
    /// <summary>Signed in, or told apart by <see cref="Downloads.Download.Visitor"/>.</summary>
    public int People { get; set; }
    public int SignedIn { get; set; }
    /// <summary>Of these people, who started something that was free for everyone; null: the day was counted before this was kept.</summary>
    public int? Free { get; set; }
    /// <summary>Of these people, who started something by a right of their own; who did both is in both.</summary>
    public int? Members { get; set; }
}

/// <summary>Whether a day's counts say what its downloads say by now: they do when both marks are one.</summary>
public sealed class DayRoll
{
    public LocalDate Day { get; set; }
    /// <summary>Raised with everything that changes what the day's counts would be.</summary>
    public long Changed { get; set; }
    /// <summary><see cref="Changed"/> as it was when the day was last rolled up.</summary>
    public long Rolled { get; set; }
    /// <summary>The zone whose day was rolled up, and by which rules: another one makes all days anew.</summary>
    public string By { get; set; } = "";
    public DateTimeOffset? RolledAt { get; set; }
}

public sealed class DayCountConfiguration : IEntityTypeConfiguration<DayCount>, IEntityTypeConfiguration<DayPeople>, IEntityTypeConfiguration<DayRoll>
{
    public void Configure(EntityTypeBuilder<DayCount> builder)
    {
        builder.HasKey(c => new { c.Day, c.ReleaseId, c.DropId, c.Kind, c.By });
        builder.Property(c => c.Kind).HasConversion<string>();
        builder.Property(c => c.By).HasConversion<string>();
        builder.HasIndex(c => new { c.LibraryId, c.Day });
    }

    public void Configure(EntityTypeBuilder<DayPeople> builder)
    {
        builder.ToTable("DayPeople");
        builder.HasKey(p => new { p.LibraryId, p.Day });
    }

    public void Configure(EntityTypeBuilder<DayRoll> builder) => builder.HasKey(r => r.Day);
}

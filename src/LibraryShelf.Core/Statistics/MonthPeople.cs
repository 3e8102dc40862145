using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>How many different signed-in people started a download in a month of the shop's calendar. Visitors can't be told apart beyond a day, so they are in none.</summary>
public sealed class MonthPeople
{
    public YearMonth Month { get; set; }
    /// <summary>0: of all libraries, each of these people once.</summary>
    public long LibraryId { get; set; }
    public int SignedIn { get; set; }
    /// <summary>Of these, as in <see cref="DayPeople.Free"/>; null: the month was counted before this was kept.</summary>
    public int? Free { get; set; }
    /// <summary>Of these, as in <see cref="DayPeople.Members"/>.</summary>
    public int? Members { get; set; }
    /// <summary>Of the row of all libraries: what the month's days had been rolled up to when it was made; another sum makes it anew.</summary>
    public long Mark { get; set; }
    public DateTimeOffset? RolledAt { get; set; }
}

public sealed class MonthPeopleConfiguration : IEntityTypeConfiguration<MonthPeople>
{
    public void Configure(EntityTypeBuilder<MonthPeople> builder)
    {
        builder.ToTable("MonthPeople");
        builder.HasKey(p => new { p.LibraryId, p.Month });
    }
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>What is counted of members, month by month; docs/counting.md says each in words. Every one is a sum over people, each by themselves.</summary>
public enum MemberFigure
{
    /// <summary>Members from before the month's first instant who still are beyond it.</summary>
    AtStart,
    /// <summary>Became members who had never been.</summary>
    Joined,
    /// <summary>Became members again.</summary>
    Returned,
    /// <summary>Stopped being members, grace included.</summary>
    Left,
    /// <summary>Of those who joined in the month: members at the end of the day n months later.</summary>
    Stayed,
    /// <summary>Ended their first stay in the month, after n whole months.</summary>
    LeftAfter,
    /// <summary>Finished their first free download, signed in, and had never been members.</summary>
    FirstFree,
    /// <summary>Of these: joined within n days of it.</summary>
    JoinedAfterFree,
    /// <summary>Renewals that failed at their first try.</summary>
    Failed,
    /// <summary>Of these: paid later.</summary>
    Recovered,
    /// <summary>Of the month's drop: whose it was when it went out.</summary>
    DropHolders,
    /// <summary>Of these: took it within n days; 0: by now.</summary>
    DropTakers,
}

/// <summary>What people who were deleted count for, in sums that name nobody: added once, when they are.</summary>
public sealed class KeptCount
{
    public MemberFigure Figure { get; set; }
    public YearMonth Month { get; set; }
    /// <summary>Months, days, or 0: what the figure says.</summary>
    public int N { get; set; }
    /// <summary>They paid; false: given by the maker's hand, or it makes no difference.</summary>
    public bool IsPaid { get; set; }
    public int Count { get; set; }
}

/// <summary>Somebody's first finished download of what was free. Worked out from downloads, and safe to work out again.</summary>
public sealed class PersonFirst
{
    public long PersonId { get; set; }
    public DateTimeOffset FreeAt { get; set; }
}

/// <summary>What members' plans come to a month, as it stood when it was last looked at in that month; of one that is over it stays.</summary>
public sealed class MonthIncome
{
    public YearMonth Month { get; set; }
    /// <summary>ISO 4217 code. Currencies are never added.</summary>
    public string Currency { get; set; } = "";
    /// <summary>In the currency's smallest unit, a month.</summary>
    public long Minor { get; set; }
    /// <summary>Memberships it is the sum of.</summary>
    public int Memberships { get; set; }
    public DateTimeOffset At { get; set; }
}

public sealed class MemberFigureConfiguration : IEntityTypeConfiguration<KeptCount>, IEntityTypeConfiguration<PersonFirst>, IEntityTypeConfiguration<MonthIncome>
{
    public void Configure(EntityTypeBuilder<KeptCount> builder)
    {
        builder.HasKey(c => new { c.Figure, c.Month, c.N, c.IsPaid });
        builder.Property(c => c.Figure).HasConversion<string>();
    }

    public void Configure(EntityTypeBuilder<PersonFirst> builder)
    {
        builder.HasKey(f => f.PersonId);
        builder.Property(f => f.PersonId).ValueGeneratedNever();
    }

    public void Configure(EntityTypeBuilder<MonthIncome> builder) => builder.HasKey(i => new { i.Month, i.Currency });
}

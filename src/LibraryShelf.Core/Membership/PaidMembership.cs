using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Membership;

/// <summary>What someone keeps after leaving beyond what was free: a setting of the shop, and the one people joined under.</summary>
public enum AfterLeaving
{
    /// <summary>The months they paid for, with every later version of those libraries.</summary>
    PaidMonths,
    /// <summary>Besides, every version that was published for members by the day they left. Kinder.</summary>
    AllTillThen,
}

/// <summary>How a paid membership stands. Worked out by <see cref="MembershipRule.StandingAt"/>, never stored.</summary>
public enum MembershipStanding
{
    Active,
    /// <summary>The renewal was not paid; as active until the days of grace are over.</summary>
    Grace,
    /// <summary>Paid to its end, and no more will be taken.</summary>
    Leaving,
    /// <summary>Nothing is taken and no month is added; as active until what is paid runs out.</summary>
    Paused,
    Left,
}

/// <summary>
/// A membership that is paid for, as the payment provider last told it. Read fresh and written whole: nothing here depends on the order in which
/// messages came.
/// </summary>
public sealed class PaidMembership
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public long? PlanId { get; set; }
    /// <summary>The provider's name for it ("sub_…").</summary>
    public string ProviderId { get; set; } = "";
    /// <summary>The provider's name for who pays ("cus_…").</summary>
    public string CustomerId { get; set; } = "";
    public DateTimeOffset StartedAt { get; set; }
    /// <summary>The end of the last time that was paid for and not taken back; null: nothing was paid.</summary>
    public DateTimeOffset? PaidThrough { get; set; }
    /// <summary>When it ends without anybody doing more; null: it goes on.</summary>
    public DateTimeOffset? LeavesAt { get; set; }
    public DateTimeOffset? EndedAt { get; set; }
    public bool IsPaused { get; set; }
    /// <summary>A payment was tried in vain, and is still due.</summary>
    public bool IsRefused { get; set; }
    /// <summary>The member may download as one until then, grace included (exclusive): <see cref="MembershipRule.ActiveUntil"/>, kept for queries.</summary>
    public DateTimeOffset ActiveUntil { get; set; }
    /// <summary>What held when they joined; what holds later counts where it is kinder.</summary>
    public AfterLeaving JoinedUnder { get; set; }
    /// <summary>The provider was asked at this instant for what stands here: an answer asked for earlier never overwrites it.</summary>
    public DateTimeOffset AskedAt { get; set; }
}

public sealed class PaidMembershipConfiguration : IEntityTypeConfiguration<PaidMembership>
{
    public void Configure(EntityTypeBuilder<PaidMembership> builder)
    {
        builder.HasIndex(m => m.ProviderId).IsUnique();
        builder.HasIndex(m => new { m.PersonId, m.ActiveUntil });
        builder.HasIndex(m => m.CustomerId);
        builder.Property(m => m.JoinedUnder).HasConversion<string>();
        builder.HasOne<Person>().WithMany().HasForeignKey(m => m.PersonId).OnDelete(DeleteBehavior.Restrict);
        builder.HasOne<Plan>().WithMany().HasForeignKey(m => m.PlanId).OnDelete(DeleteBehavior.Restrict);
    }
}

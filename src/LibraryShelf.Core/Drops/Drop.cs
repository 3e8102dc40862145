using System.Globalization;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>Where a month's drop stands. What it still lacks is worked out from its releases, not kept.</summary>
public enum DropState { Planned, Sent, Cancelled }

/// <summary>
/// What members get in one month: planned ahead, sent whole at one instant. <see cref="Day"/>, <see cref="Time"/> and <see cref="Zone"/> are what
/// the maker means; <see cref="DueAt"/> is the instant they come to.
/// </summary>
public sealed class Drop
{
    public long Id { get; set; }
    /// <summary>Unique.</summary>
    public YearMonth Month { get; set; }
    public string Title { get; set; } = "";
    /// <summary>"December 2026".</summary>
    public string MonthName => DayWords.Month(Month);
    /// <summary>What its one archive is called in lists.</summary>
    public string WholeName => T($"The whole month, {MonthName}");
    /// <summary>To the members, in Markdown: on the shelf and in the mail.</summary>
    public string Note { get; set; } = "";
    /// <summary>As <see cref="DropDay"/> writes it: "1", "last", "1 friday".</summary>
    public string Day { get; set; } = "1";
    /// <summary>On the wall, "09:00".</summary>
    public string Time { get; set; } = "09:00";
    /// <summary>IANA name.</summary>
    public string Zone { get; set; } = "Etc/UTC";
    public DateTimeOffset DueAt { get; set; }
    /// <summary><see cref="DueAt"/> is the maker's word that it goes out now, and not what day, time and zone come to; taken back, they count again.</summary>
    public bool IsAtOnce { get; set; }
    /// <summary>
    /// Since when it waits for the maker's word, though it is due: something was missing at its hour, or it was changed after it, or the clock was not to
    /// be trusted. Nothing but <see cref="LetDropGo"/> or another hour ends that. <see cref="DueAt"/> itself: it came due after the clock had jumped and asks for that
    /// alone, until its maker says that the clock is right (<see cref="WatchClock"/>). Null: it goes out by itself.
    /// </summary>
    public DateTimeOffset? AsksSince { get; set; }
    /// <summary>When it would have gone out before the rules of its time zone changed; null: they did not, or its hour was chosen since.</summary>
    public DateTimeOffset? MovedFrom { get; set; }
    public DropState State { get; set; }
    /// <summary>The instant it went out; from then on <see cref="Month"/>'s holders have its libraries for good.</summary>
    public DateTimeOffset? SentAt { get; set; }
    /// <summary>Why it did not go out though it was due, in words for the maker; null when all is well.</summary>
    public string? Trouble { get; set; }
    /// <summary>When the members were told that this month slips; null: it did not, or nobody was told.</summary>
    public DateTimeOffset? SlippedAt { get; set; }
    /// <summary>Tells this telling of the slip from others, at the end of its mails' causes; "": nobody was told.</summary>
    public string SlipMark => SlippedAt?.ToUnixTimeMilliseconds().ToString(CultureInfo.InvariantCulture) ?? "";
    /// <summary>Why it slipped, in the maker's words for the members.</summary>
    public string SlippedBecause { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
    public int Revision { get; set; }

    /// <summary>Nothing but the clock keeps it from going out.</summary>
    internal bool IsAskingForClock => AsksSince == DueAt;

    /// <summary>Its maker changed what it is after its hour had come: it asks before it goes out. Before its hour nothing changes.</summary>
    internal void AskIfDue(DateTimeOffset now)
    {
        if (State == DropState.Planned && DueAt <= now)
            AsksSince = IsAskingForClock ? now : AsksSince ?? now;
    }

    /// <summary>Gives it another instant, chosen by its maker.</summary>
    internal void ComeAt(DateTimeOffset due, bool isAtOnce)
    {
        (DueAt, IsAtOnce) = (due, isAtOnce);
        (AsksSince, MovedFrom) = (null, null);
    }
}

/// <summary>One version in a drop; a version is in one drop at most. It may still be a draft while the drop is planned.</summary>
public sealed class DropRelease
{
    public long Id { get; set; }
    public long DropId { get; set; }
    public long ReleaseId { get; set; }
    /// <summary>Its place among those of the drop, from 0.</summary>
    public int Place { get; set; }
}

public sealed class DropConfiguration : IEntityTypeConfiguration<Drop>, IEntityTypeConfiguration<DropRelease>
{
    public void Configure(EntityTypeBuilder<Drop> builder)
    {
        builder.HasIndex(d => d.Month).IsUnique();
        builder.Property(d => d.State).HasConversion<string>();
        builder.Property(d => d.Revision).IsConcurrencyToken();
    }

    public void Configure(EntityTypeBuilder<DropRelease> builder)
    {
        builder.HasIndex(r => r.DropId);
        builder.HasIndex(r => r.ReleaseId).IsUnique();
    }
}

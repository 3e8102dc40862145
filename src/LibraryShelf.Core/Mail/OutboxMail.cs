using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Mail;

/// <summary>A mail to send, written in the same transaction as its cause; at most one per cause.</summary>
public sealed class OutboxMail
{
    /// <summary>A cause that begins so is the last mail to somebody deleted: the row goes once it is sent or given up, because it holds their address.</summary>
    internal const string Last = "deleted:";

    public long Id { get; set; }
    /// <summary>Unique: what this mail is about, such as "sign-in:42". Also the left part of its Message-ID.</summary>
    public string Cause { get; set; } = "";
    /// <summary>Whom it goes to, at the address they have when it is sent; null: <see cref="To"/> alone says it.</summary>
    public long? PersonId { get; set; }
    /// <summary>
    /// A mail that is composed when it is sent is about this row (of a drop, the drop; of a new version, the version), as its <see cref="Cause"/> says; it has no
    /// text and no address before. Null: the text stands here.
    /// </summary>
    public long? AboutId { get; set; }
    public string To { get; set; } = "";
    public string Subject { get; set; } = "";
    /// <summary>Plain text; emptied once sent or left out. Of one given up it is kept for another try, without the tokens of links to leave, and never where it may carry a sign-in link.</summary>
    public string Text { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? SentAt { get; set; }
    public int Attempts { get; set; }
    public DateTimeOffset? NextTryAt { get; set; }
    public string? LastError { get; set; }
    /// <summary>When the other side refused it for good, the last try failed, or it was left out; it is not tried again.</summary>
    public DateTimeOffset? GaveUpAt { get; set; }

    /// <summary>Nobody failed: it was not wanted, or not needed any more, when it was to be sent; <see cref="LastError"/> says why. Such a row counts no tries.</summary>
    public bool IsLeftOut => GaveUpAt is not null && Attempts == 0;

    /// <summary>It was given up, and what it says is still here or composed anew, so that its maker can have it tried again.</summary>
    public bool CanBeTriedAgain => GaveUpAt is not null && SentAt is null && Attempts > 0 && (AboutId is not null || Text.Length > 0);
}

public sealed class OutboxMailConfiguration : IEntityTypeConfiguration<OutboxMail>
{
    public void Configure(EntityTypeBuilder<OutboxMail> builder)
    {
        builder.HasIndex(m => m.Cause).IsUnique();
        builder.HasIndex(m => m.SentAt);
        builder.HasIndex(m => m.PersonId);
    }
}

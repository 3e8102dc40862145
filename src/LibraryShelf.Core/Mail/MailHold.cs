using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Mail;

/// <summary>The maker stopped mails to many: those that had not gone, and those still to be written, wait while this stands. One row stops thousands.</summary>
public sealed class MailHold
{
    /// <summary>What their causes begin with, "drop:7:".</summary>
    public string Begins { get; set; } = "";
    /// <summary>Their <see cref="OutboxMail.AboutId"/>.</summary>
    public long AboutId { get; set; }
    public DateTimeOffset At { get; set; }
}

public sealed class MailHoldConfiguration : IEntityTypeConfiguration<MailHold>
{
    public void Configure(EntityTypeBuilder<MailHold> builder) => builder.HasKey(h => h.Begins);
}

public static class MailHoldQuestions
{
    /// <summary>Those that the maker has not stopped.</summary>
    public static IQueryable<OutboxMail> NotStopped(this IQueryable<OutboxMail> mails, ShelfDb db) =>
        mails.Where(m => m.AboutId == null || !db.MailHolds.Any(h => h.AboutId == m.AboutId && m.Cause.StartsWith(h.Begins)));
}

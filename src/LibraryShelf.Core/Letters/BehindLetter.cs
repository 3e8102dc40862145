using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Letters;

/// <summary>
/// The maker's letter to those who have an earlier version than this one: one for each version, ever. Its mails are written a few people at a time by
/// <see cref="WriteBehindLetters"/>, which goes on from here after a stop.
/// </summary>
public sealed class BehindLetter
{
    public long ReleaseId { get; set; }
    /// <summary>Hers, in Markdown.</summary>
    public string Words { get; set; } = "";
    public DateTimeOffset AskedAt { get; set; }
    /// <summary>Of which version those who have it were looked at last; those with a higher id are still to come. 0: of none yet.</summary>
    public long AfterReleaseId { get; set; }
    /// <summary>The last of them who was looked at; 0: nobody yet.</summary>
    public long AfterPersonId { get; set; }
    /// <summary>Mails written so far.</summary>
    public int Written { get; set; }
    /// <summary>All were looked at; null: the writing goes on.</summary>
    public DateTimeOffset? DoneAt { get; set; }
}

public sealed class BehindLetterConfiguration : IEntityTypeConfiguration<BehindLetter>
{
    public void Configure(EntityTypeBuilder<BehindLetter> builder)
    {
        builder.HasKey(l => l.ReleaseId);
        builder.Property(l => l.ReleaseId).ValueGeneratedNever();
    }
}

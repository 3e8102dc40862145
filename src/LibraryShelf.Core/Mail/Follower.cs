using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Mail;

/// <summary>
/// An address that wants to hear of a library's new versions. It is written to once <see cref="ConfirmedAt"/> stands: whoever typed the address need not be
/// who reads it. Who stops following is deleted.
/// </summary>
public sealed class Follower
{
    public long Id { get; set; }
    public long LibraryId { get; set; }
    public string Email { get; set; } = "";
    public string NormalizedEmail { get; set; } = "";
    /// <summary>128 random bits, base64url, in the mailed links: says yes, and stops it. Unique. In the clear, because each later mail carries it; it opens nothing else.</summary>
    public string Key { get; set; } = "";
    public DateTimeOffset AskedAt { get; set; }
    public DateTimeOffset? ConfirmedAt { get; set; }
}

public sealed class FollowerConfiguration : IEntityTypeConfiguration<Follower>
{
    public void Configure(EntityTypeBuilder<Follower> builder)
    {
        builder.HasIndex(f => f.Key).IsUnique();
        builder.HasIndex(f => new { f.LibraryId, f.NormalizedEmail }).IsUnique();
    }
}

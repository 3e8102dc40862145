using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>Lets the command line send folders to drafts on the maker's behalf, and nothing else. Shown once, stored hashed.</summary>
public sealed class UploadToken
{
    public long Id { get; set; }
    public string Name { get; set; } = "";
    public string TokenHash { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? LastUsedAt { get; set; }
    public DateTimeOffset? RevokedAt { get; set; }
}

public sealed class UploadTokenConfiguration : IEntityTypeConfiguration<UploadToken>
{
    public void Configure(EntityTypeBuilder<UploadToken> builder) => builder.HasIndex(t => t.TokenHash).IsUnique();
}

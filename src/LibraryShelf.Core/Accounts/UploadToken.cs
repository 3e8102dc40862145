using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>What a token opens, and nothing else.</summary>
public enum TokenUse
{
    /// <summary>Sending folders to drafts, and reading what their checks found.</summary>
    Send,
    /// <summary>Reading the figures.</summary>
    ReadNumbers,
}

/// <summary>Lets a program of the maker's do one thing on her behalf: the command line sends folders. Shown once, stored hashed.</summary>
public sealed class UploadToken
{
    public long Id { get; set; }
    public string Name { get; set; } = "";
    public TokenUse Use { get; set; }
    public string TokenHash { get; set; } = "";
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset? LastUsedAt { get; set; }
    public DateTimeOffset? RevokedAt { get; set; }
}

public sealed class UploadTokenConfiguration : IEntityTypeConfiguration<UploadToken>
{
    public void Configure(EntityTypeBuilder<UploadToken> builder)
    {
        builder.HasIndex(t => t.TokenHash).IsUnique();
        builder.Property(t => t.Use).HasConversion<string>().HasDefaultValue(TokenUse.Send).HasSentinel(TokenUse.Send);
    }
}

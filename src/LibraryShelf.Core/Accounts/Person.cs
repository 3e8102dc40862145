using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>Someone the shelf knows by e-mail address: the maker (with a password) or anyone who signs in by mail.</summary>
public sealed class Person : IdentityUser<long>
{
    public bool IsMaker { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
    /// <summary>The last look at their page, to within a minute; null: none yet.</summary>
    public DateTimeOffset? VisitedAt { get; set; }
    /// <summary>The last look of the visit before the one that look belongs to: what came out since is new to them.</summary>
    public DateTimeOffset? VisitedBefore { get; set; }
    /// <summary>128 random bits, base64url, in the links of mails that stop a kind of them; unique; null: none was written yet. It opens nothing else.</summary>
    public string? LetterKey { get; set; }
    /// <summary>
    /// Another address of this person, who stands in that row: everything of theirs does, and signing in by this address signs in there. Never a
    /// row that is itself merged into another. Not a foreign key: SQLite would have to write the whole table anew for it.
    /// </summary>
    public long? MergedIntoId { get; set; }
    /// <summary>Deleted at their wish: the row has no address any more, and stands only because their payments have to.</summary>
    public DateTimeOffset? DeletedAt { get; set; }
}

public sealed class PersonConfiguration : IEntityTypeConfiguration<Person>
{
    public void Configure(EntityTypeBuilder<Person> builder) => builder.HasIndex(p => p.LetterKey).IsUnique();
}

using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Membership;

/// <summary>A list of people the maker brought from elsewhere: where they come from and what they agreed to, as she says it.</summary>
public sealed class MemberImport
{
    public long Id { get; set; }
    /// <summary>Where the list comes from, in the maker's words.</summary>
    public string Source { get; set; } = "";
    /// <summary>What its people agreed to, in the maker's words; a line of the list may say more.</summary>
    public string Consent { get; set; } = "";
    /// <summary>SHA-256 of the file, lower-case hex: the same list is not taken twice.</summary>
    public string FileHash { get; set; } = "";
    /// <summary>When the bringing began.</summary>
    public DateTimeOffset ImportedAt { get; set; }
    /// <summary>
    /// When every line was gone through; null: it broke off, and goes on with the next press. Finished, it is never gone through again: people of it
    /// who were deleted since would come back.
    /// </summary>
    public DateTimeOffset? FinishedAt { get; set; }
}

/// <summary>One person of such a list.</summary>
public sealed class ImportedMember
{
    public long ImportId { get; set; }
    public long PersonId { get; set; }
    /// <summary>What and when this one agreed to, as the line says; may be empty.</summary>
    public string Consent { get; set; } = "";
    /// <summary>The membership it gave; null: none.</summary>
    public long? GrantId { get; set; }
    /// <summary>When they first signed in after they were brought here: the place is claimed.</summary>
    public DateTimeOffset? ClaimedAt { get; set; }
}

public sealed class MemberImportConfiguration : IEntityTypeConfiguration<MemberImport>
{
    public void Configure(EntityTypeBuilder<MemberImport> builder) => builder.HasIndex(i => i.FileHash).IsUnique();
}

public sealed class ImportedMemberConfiguration : IEntityTypeConfiguration<ImportedMember>
{
    public void Configure(EntityTypeBuilder<ImportedMember> builder)
    {
        builder.HasKey(m => new { m.ImportId, m.PersonId });
        builder.HasIndex(m => m.PersonId);
        builder.HasOne<MemberImport>().WithMany().HasForeignKey(m => m.ImportId).OnDelete(DeleteBehavior.Restrict);
        builder.HasOne<Person>().WithMany().HasForeignKey(m => m.PersonId).OnDelete(DeleteBehavior.Cascade);
        builder.HasOne<MembershipGrant>().WithMany().HasForeignKey(m => m.GrantId).OnDelete(DeleteBehavior.SetNull);
    }
}

using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>Somebody wants another address. It changes once both mailboxes have said yes, each by the link it was sent.</summary>
public sealed class AddressChange
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public string OldEmail { get; set; } = "";
    public string NewEmail { get; set; } = "";
    public string NormalizedNewEmail { get; set; } = "";
    /// <summary>SHA-256 of the token sent to the old address, lower-case hex.</summary>
    public string OldTokenHash { get; set; } = "";
    /// <summary>SHA-256 of the token sent to the new address, lower-case hex.</summary>
    public string NewTokenHash { get; set; } = "";
    public DateTimeOffset AskedAt { get; set; }
    public DateTimeOffset ExpiresAt { get; set; }
    public DateTimeOffset? OldSaidYesAt { get; set; }
    public DateTimeOffset? NewSaidYesAt { get; set; }
    /// <summary>Changed, refused by one of the two, or replaced by a later wish; null: waits.</summary>
    public DateTimeOffset? EndedAt { get; set; }

    internal bool IsSaidByBoth => OldSaidYesAt is not null && NewSaidYesAt is not null;

    /// <param name="now">The clock's.</param>
    /// <param name="isOld">As the link to the old address sees it; false: the new one's.</param>
    internal AddressChangeState StateAt(DateTimeOffset now, bool isOld) =>
        EndedAt is not null ? (IsSaidByBoth ? AddressChangeState.Changed : AddressChangeState.Ended)
        : ExpiresAt <= now ? AddressChangeState.Expired
        : (isOld ? OldSaidYesAt : NewSaidYesAt) is null ? AddressChangeState.Open : AddressChangeState.SaidYes;
}

/// <summary>How a wish for another address stands, seen by one of its two links.</summary>
public enum AddressChangeState
{
    /// <summary>There is none: the link was altered, cut short, or is so old that it was forgotten.</summary>
    Unknown,
    /// <summary>This address has not been asked yet.</summary>
    Open,
    /// <summary>This address has said yes, the other nothing.</summary>
    SaidYes,
    Changed,
    /// <summary>One of the two said no, a later wish took its place, or it could not be done.</summary>
    Ended,
    Expired,
}

public sealed class AddressChangeConfiguration : IEntityTypeConfiguration<AddressChange>
{
    public void Configure(EntityTypeBuilder<AddressChange> builder)
    {
        builder.HasIndex(c => c.OldTokenHash).IsUnique();
        builder.HasIndex(c => c.NewTokenHash).IsUnique();
        builder.HasIndex(c => c.PersonId);
        builder.HasOne<Person>().WithMany().HasForeignKey(c => c.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}

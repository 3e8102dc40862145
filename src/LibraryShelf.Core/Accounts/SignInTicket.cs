using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>
/// One asked-for sign-in. The mailed link's token and the code are stored hashed; whichever is used first uses up the row.
/// A purpose of <see cref="SignInPurpose.ClaimShelf"/> is the one-time link with which the maker takes over an empty shelf, of
/// <see cref="SignInPurpose.RecoverMaker"/> the one with which she chooses a new password; of <see cref="SignInPurpose.DeleteMe"/> the one that
/// says again that somebody wants to be forgotten.
/// </summary>
public sealed class SignInTicket
{
    /// <summary>Wrong codes after which only the link works.</summary>
    public const int MostWrongCodes = 5;

    public long Id { get; set; }
    public SignInPurpose Purpose { get; set; }
    public string NormalizedEmail { get; set; } = "";
    public string Email { get; set; } = "";
    /// <summary>SHA-256 of the link's token, lower-case hex.</summary>
    public string TokenHash { get; set; } = "";
    /// <summary>Slow hash of the code, salted with <see cref="TokenHash"/>, lower-case hex; null when the ticket has no code.</summary>
    public string? CodeHash { get; set; }
    public int WrongCodes { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
    public DateTimeOffset ExpiresAt { get; set; }
    public DateTimeOffset? UsedAt { get; set; }

    internal TicketState StateAt(DateTimeOffset now) =>
        UsedAt is not null ? TicketState.Used : ExpiresAt <= now ? TicketState.Expired : TicketState.Open;
}

public enum SignInPurpose { SignIn, ClaimShelf, RecoverMaker, DeleteMe }

/// <summary>What can be said of the token of a link.</summary>
public enum TicketState
{
    /// <summary>Altered, cut short, or so old that it was forgotten.</summary>
    Unknown,
    Open,
    Used,
    Expired,
}

public sealed class SignInTicketConfiguration : IEntityTypeConfiguration<SignInTicket>
{
    public void Configure(EntityTypeBuilder<SignInTicket> builder)
    {
        builder.HasIndex(t => t.TokenHash).IsUnique();
        builder.HasIndex(t => t.NormalizedEmail);
        builder.Property(t => t.Purpose).HasConversion<string>();
    }
}

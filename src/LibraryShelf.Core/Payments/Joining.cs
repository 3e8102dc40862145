using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>
/// Somebody pressed Join: what they agreed to, in the words they saw, and the way back from the payment page. Kept after the payment, as the
/// proof of what was agreed; those that led to none are swept.
/// </summary>
public sealed class Joining
{
    public long Id { get; set; }
    public string Email { get; set; } = "";
    public string NormalizedEmail { get; set; } = "";
    public long PlanId { get; set; }
    /// <summary>Null: joined signed out; else only this person is made the member.</summary>
    public long? PersonId { get; set; }
    /// <summary>The words beside the ticked box; empty: the shop asks for none.</summary>
    public string ConsentWords { get; set; } = "";
    public string ButtonWords { get; set; } = "";
    public string TermsVersion { get; set; } = "";
    public AfterLeaving AfterLeaving { get; set; }
    public DateTimeOffset AgreedAt { get; set; }
    /// <summary>SHA-256 of the token in the address the payer comes back to, lower-case hex.</summary>
    public string TokenHash { get; set; } = "";
    public string? CheckoutId { get; set; }
    /// <summary>When it became a membership; null: not paid, or not looked at yet.</summary>
    public DateTimeOffset? PaidAt { get; set; }
    /// <summary>The person did not exist before: then, and only then, coming back signs in.</summary>
    public bool IsNewPerson { get; set; }
    /// <summary>Coming back signed in, once.</summary>
    public DateTimeOffset? SignedInAt { get; set; }

    /// <summary>Whoever joined was deleted: it is of this row without a name now, and the way back from the payment page leads nowhere.</summary>
    internal void Forget(long personId)
    {
        (PersonId, Email, NormalizedEmail) = (personId, "", "");
        // The column is unique; no hash looks like this.
        TokenHash = $"deleted-{Id}";
    }
}

public sealed class JoiningConfiguration : IEntityTypeConfiguration<Joining>
{
    public void Configure(EntityTypeBuilder<Joining> builder)
    {
        builder.HasIndex(j => j.TokenHash).IsUnique();
        builder.HasIndex(j => j.NormalizedEmail);
        builder.HasIndex(j => j.CheckoutId);
        builder.Property(j => j.AfterLeaving).HasConversion<string>();
        builder.HasOne<Plan>().WithMany().HasForeignKey(j => j.PlanId).OnDelete(DeleteBehavior.Restrict);
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Payments;

/// <summary>A renewal whose first try was in vain. How it stands now the membership says; that it failed, and when it was paid after all, only this.</summary>
public sealed class FailedRenewal
{
    public long PaidMembershipId { get; set; }
    /// <summary>When its invoice was made.</summary>
    public DateTimeOffset Since { get; set; }
    /// <summary>When it was paid after all; null: not by now.</summary>
    public DateTimeOffset? RecoveredAt { get; set; }
}

public sealed class FailedRenewalConfiguration : IEntityTypeConfiguration<FailedRenewal>
{
    public void Configure(EntityTypeBuilder<FailedRenewal> builder) => builder.HasKey(r => new { r.PaidMembershipId, r.Since });
}

/// <summary>Writes down that a renewal failed, and that one which had was paid.</summary>
internal static class KeepFailedRenewals
{
    /// <summary>An invoice is made within the hour after its period begins.</summary>
    private static readonly TimeSpan MadeAfter = TimeSpan.FromHours(1);

    /// <summary>Inside the caller's transaction, for the caller to save; looking again writes nothing twice. Of somebody deleted nothing is written.</summary>
    public static async Task WriteAsync(ShelfDb db, PaidMembership membership, ProviderMembership told, CancellationToken cancellationToken)
    {
        if (await db.Users.AnyAsync(p => p.Id == membership.PersonId && p.DeletedAt != null, cancellationToken))
            return;
        var kept = await db.FailedRenewals.Where(r => r.PaidMembershipId == membership.Id).ToListAsync(cancellationToken);
        if (told.UnpaidSince is { } since && !kept.Exists(r => r.Since == since))
            db.FailedRenewals.Add(new FailedRenewal { PaidMembershipId = membership.Id, Since = since });
        foreach (var open in kept.FindAll(r => r.RecoveredAt is null && r.Since != told.UnpaidSince))
            open.RecoveredAt = told.Payments.Where(p => p.PeriodStart <= open.Since + MadeAfter && p.PeriodEnd > open.Since && p.PaidAt >= open.Since).Min(p => (DateTimeOffset?)p.PaidAt);
    }
}

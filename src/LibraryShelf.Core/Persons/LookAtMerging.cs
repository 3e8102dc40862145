using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Persons;

/// <summary>Why two addresses can't be made one account.</summary>
public enum MergeRefusal
{
    /// <summary>The shelf knows nobody by the address that is to stay.</summary>
    StaysUnknown,
    /// <summary>The shelf knows nobody by the address that is to join it.</summary>
    JoinsUnknown,
    /// <summary>Both are one account already, or one address was given twice.</summary>
    OneAlready,
    /// <summary>The maker's account is the shelf's; hers is merged with nobody's.</summary>
    IsMaker,
}

/// <summary>One of the two, with what comes together. <paramref name="Paying"/>: paid memberships that go on.</summary>
/// <param name="Asked">The address that was typed, where it is another one of this account; else null.</param>
public sealed record MergeSide(
    long PersonId, string Email, string? Asked, DateTimeOffset KnownSince, int MembershipsGiven, int Paying, int Payments, int Months, int Downloads, int Faults);

public abstract record MergeLook
{
    private MergeLook() { }

    public sealed record Possible(MergeSide Stays, MergeSide Joins) : MergeLook
    {
        /// <summary>Both go on, and both go on being paid, until one is ended.</summary>
        public bool BothPay => Stays.Paying > 0 && Joins.Paying > 0;
    }

    public sealed record Refused(MergeRefusal Why) : MergeLook;
}

/// <summary>What merging two accounts would bring together; changes nothing.</summary>
public sealed class LookAtMerging(ShelfDb db)
{
    /// <param name="stays">The address of the account that goes on, as typed.</param>
    /// <param name="joins">The address of the one whose things move there, as typed.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<MergeLook> RunAsync(string? stays, string? joins, CancellationToken cancellationToken)
    {
        var (one, other, refusal) = await MergePair.FindAsync(db, stays, joins, cancellationToken);
        return refusal is { } why ? new MergeLook.Refused(why) : new MergeLook.Possible(
            await SideAsync(one!, stays, cancellationToken), await SideAsync(other!, joins, cancellationToken));
    }

    private async Task<MergeSide> SideAsync(Person person, string? typed, CancellationToken cancellationToken)
    {
        var id = person.Id;
        var asked = EmailAddress.Tidy(typed);
        return new(
            id, person.Email ?? "", asked is not null && EmailAddress.Normalize(asked) != person.NormalizedEmail ? asked : null, person.CreatedAt,
            await db.MembershipGrants.CountAsync(g => g.PersonId == id, cancellationToken),
            await db.PaidMemberships.CountAsync(m => m.PersonId == id && m.EndedAt == null, cancellationToken),
            await db.Payments.CountAsync(p => p.PersonId == id, cancellationToken),
            await db.PaidMonths.CountAsync(m => m.PersonId == id, cancellationToken),
            await db.Downloads.CountAsync(d => d.PersonId == id && d.StartedAt != null, cancellationToken),
            await db.FaultReports.CountAsync(f => f.PersonId == id, cancellationToken));
    }
}

/// <summary>The two accounts that two typed addresses mean.</summary>
internal static class MergePair
{
    public static async Task<(Person? Stays, Person? Joins, MergeRefusal? Why)> FindAsync(
        ShelfDb db, string? stays, string? joins, CancellationToken cancellationToken)
    {
        if (await FindAsync(db, stays, cancellationToken) is not { } one)
            return (null, null, MergeRefusal.StaysUnknown);
        if (await FindAsync(db, joins, cancellationToken) is not { } other)
            return (null, null, MergeRefusal.JoinsUnknown);
        if (one.Id == other.Id)
            return (null, null, MergeRefusal.OneAlready);
        return one.IsMaker || other.IsMaker ? (null, null, MergeRefusal.IsMaker) : (one, other, null);
    }

    /// <summary>By whichever of their addresses. Who is deleted has none.</summary>
    private static async Task<Person?> FindAsync(ShelfDb db, string? typed, CancellationToken cancellationToken)
    {
        if (EmailAddress.Tidy(typed) is not { } address)
            return null;
        var normalized = EmailAddress.Normalize(address);
        var id = await db.Users.Where(p => p.NormalizedEmail == normalized).Select(p => (long?)p.Id).FirstOrDefaultAsync(cancellationToken);
        return id is { } known ? await People.FindAsync(db, known, cancellationToken) : null;
    }
}

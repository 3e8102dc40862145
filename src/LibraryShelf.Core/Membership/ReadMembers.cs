using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>One person the shelf knows. <paramref name="Since"/> and <paramref name="Until"/> are of the grant that holds now, or of the last one.</summary>
/// <param name="Until">Exclusive; null: no end set, or never a member (then <paramref name="Since"/> is null too).</param>
public sealed record MemberLine(
    long PersonId, string Email, DateTimeOffset KnownSince, bool IsActive, DateTimeOffset? Since, DateTimeOffset? Until, string Note);

/// <param name="ActiveMembers">All of them, also those not listed.</param>
/// <param name="IsCut">More people fit than are listed.</param>
public sealed record MemberList(IReadOnlyList<MemberLine> People, int ActiveMembers, bool IsCut);

/// <summary>Everyone the shelf knows except the maker, members first, then by address.</summary>
public sealed class ReadMembers(ShelfDb db, TimeProvider clock)
{
    public const int Most = 500;

    /// <param name="find">Part of an address; empty: everyone.</param>
    public async Task<MemberList> RunAsync(string? find, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var wanted = EmailAddress.Normalize(find?.Trim() ?? "");
        var isActive = ActiveMembers.At(db, now);
        var people = await db.Users.AsNoTracking()
            .Where(p => !p.IsMaker && (wanted == "" || p.NormalizedEmail!.Contains(wanted)))
            .OrderByDescending(p => isActive.Contains(p.Id)).ThenBy(p => p.NormalizedEmail)
            .Take(Most + 1).ToListAsync(cancellationToken);
        var ids = people.ConvertAll(p => p.Id);
        var grants = (await db.MembershipGrants.AsNoTracking().Where(g => ids.Contains(g.PersonId)).ToListAsync(cancellationToken))
            .ToLookup(g => g.PersonId);
        var active = await isActive.Distinct().CountAsync(cancellationToken);
        return new([.. people.Take(Most).Select(p => Line(p, [.. grants[p.Id]], now))], active, people.Count > Most);
    }

    private static MemberLine Line(Person person, List<MembershipGrant> grants, DateTimeOffset now)
    {
        var active = grants.FindAll(g => g.IsActiveAt(now));
        var shown = (active.Count > 0 ? active : grants)
            .OrderByDescending(g => g.Until ?? DateTimeOffset.MaxValue).ThenByDescending(g => g.Id).FirstOrDefault();
        // Back-to-back grants are one membership to the one who looks: its start is the earliest of those that hold.
        var since = active.Count > 0 ? active.Min(g => g.From) : shown?.From;
        return new(person.Id, person.Email ?? "", person.CreatedAt, active.Count > 0, since, shown?.Until, shown?.Note ?? "");
    }
}

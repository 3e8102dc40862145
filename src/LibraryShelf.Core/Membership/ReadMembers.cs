using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>Whom to list.</summary>
/// <param name="Find">Part of an address; empty: everyone.</param>
/// <param name="State">In this state alone; null: in any.</param>
/// <param name="NotSignedIn">Those alone who have never signed in.</param>
public sealed record MemberFilter(string? Find = null, MemberState? State = null, bool NotSignedIn = false)
{
    internal IQueryable<MemberRow> Of(ShelfDb db, DateTimeOffset now)
    {
        var rows = MemberRow.Of(db, now);
        if (EmailAddress.Normalize(Find?.Trim() ?? "") is { Length: > 0 } wanted)
            rows = rows.Where(r => r.NormalizedEmail!.Contains(wanted) || db.Users.Any(p => p.MergedIntoId == r.Id && p.NormalizedEmail!.Contains(wanted)));
        if (State is { } state)
            rows = rows.Where(r => r.State == state);
        if (NotSignedIn)
            rows = rows.Where(r => !r.HasSignedIn);
        return rows.OrderBy(r => r.State >= MemberState.Left).ThenBy(r => r.NormalizedEmail);
    }
}

/// <param name="People">Of this page.</param>
/// <param name="Page">From 1; the last one when a later was asked for.</param>
/// <param name="Found">How many the filter finds, on all pages.</param>
/// <param name="Counts">Of everyone, whatever the filter.</param>
/// <param name="NotSignedIn">Of everyone.</param>
public sealed record MemberList(
    IReadOnlyList<MemberLine> People, int Page, int Found, IReadOnlyDictionary<MemberState, int> Counts, int NotSignedIn)
{
    public static MemberList Empty { get; } = new([], 1, 0, new Dictionary<MemberState, int>(), 0);

    public int Pages => Math.Max(1, (Found + ReadMembers.OnAPage - 1) / ReadMembers.OnAPage);

    public int ActiveMembers => Counts.Where(c => c.Key < MemberState.Left).Sum(c => c.Value);
}

/// <summary>Everyone the shelf knows except the maker, members first, then by address.</summary>
public sealed class ReadMembers(ShelfDb db, TimeProvider clock)
{
    public const int OnAPage = 100;

    /// <param name="filter">Whom to list.</param>
    /// <param name="page">From 1.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<MemberList> RunAsync(MemberFilter filter, int page, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var states = await MemberRow.Of(db, now).GroupBy(r => new { r.State, r.HasSignedIn })
            .Select(g => new { g.Key.State, g.Key.HasSignedIn, Count = g.Count() }).ToListAsync(cancellationToken);
        var wanted = filter.Of(db, now);
        var found = await wanted.CountAsync(cancellationToken);
        var shown = Math.Clamp(page, 1, Math.Max(1, (found + OnAPage - 1) / OnAPage));
        var rows = await wanted.Skip((shown - 1) * OnAPage).Take(OnAPage).ToListAsync(cancellationToken);
        return new(
            await MemberLine.ReadAsync(db, rows, now, cancellationToken), shown, found,
            states.GroupBy(s => s.State).ToDictionary(g => g.Key, g => g.Sum(s => s.Count)), states.Where(s => !s.HasSignedIn).Sum(s => s.Count));
    }
}

/// <summary>All whom a filter finds, for a file.</summary>
public sealed class ExportMembers(ShelfDb db, TimeProvider clock)
{
    public async Task<IReadOnlyList<MemberLine>> RunAsync(MemberFilter filter, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        return await MemberLine.ReadAsync(db, await filter.Of(db, now).ToListAsync(cancellationToken), now, cancellationToken);
    }
}

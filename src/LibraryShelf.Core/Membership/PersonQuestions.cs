using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Membership;

/// <summary>The person as the shop's settings see them. The zone and the rule are null while there is no shop.</summary>
internal sealed record PersonAsked(bool IsMaker, string? TimeZone, AfterLeaving? AfterLeaving);

/// <summary>
/// What is asked of the database about a person for each download and each page, worked out once: the questions are small, so that working them out
/// anew would cost more than their answers.
/// </summary>
internal static class PersonQuestions
{
    public static readonly CompiledQuestion<Func<ShelfDb, long, CancellationToken, Task<PersonAsked?>>> Person = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id, CancellationToken cancellationToken) => db.Users.Where(p => p.Id == id && p.DeletedAt == null).Select(p => new PersonAsked(
            p.IsMaker, db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).FirstOrDefault(),
            db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => (AfterLeaving?)s.AfterLeaving).FirstOrDefault())).FirstOrDefault()));

    public static readonly CompiledQuestion<Func<ShelfDb, long, IAsyncEnumerable<MembershipGrant>>> Grants = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id) => db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == id)));

    public static readonly CompiledQuestion<Func<ShelfDb, long, DateTimeOffset, IAsyncEnumerable<PaidMembership>>> Paid = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id, DateTimeOffset now) => db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == id && m.StartedAt <= now)));

    /// <summary>Started, not merely pressed: a link that was never used took nothing.</summary>
    public static readonly CompiledQuestion<Func<ShelfDb, long, IAsyncEnumerable<long>>> TakenWhileFree = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id) => db.Downloads
            .Where(d => d.PersonId == id && d.StartedAt != null && d.Why == MayDownloadWhy.Free).Select(d => d.ReleaseId).Distinct()));

    public static readonly CompiledQuestion<Func<ShelfDb, long, IAsyncEnumerable<long>>> EarlyFor = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id) => db.EarlyGuests.Where(g => g.PersonId == id).Select(g => g.ReleaseId)));

    public static readonly CompiledQuestion<Func<ShelfDb, long, DateTimeOffset, IAsyncEnumerable<YearMonth>>> Months = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id, DateTimeOffset now) => db.PaidMonths.Where(m => m.PersonId == id && m.OpensAt <= now).Select(m => m.Month)));

    public static readonly CompiledQuestion<Func<ShelfDb, long, CancellationToken, Task<Release?>>> Release = new(() =>
        EF.CompileAsyncQuery((ShelfDb db, long id, CancellationToken cancellationToken) =>
            db.Releases.AsNoTracking().Include(r => r.Library).ThenInclude(l => l.Audiences).FirstOrDefault(r => r.Id == id)));

    public static async Task<HashSet<T>> SetAsync<T>(this IAsyncEnumerable<T> answers, CancellationToken cancellationToken)
    {
        var set = new HashSet<T>();
        await foreach (var answer in answers.WithCancellation(cancellationToken))
            set.Add(answer);
        return set;
    }
}

using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>What people's rows say of their being members, as <see cref="Membership.ActiveMembers"/> asks it of an instant; the maker is none, and neither is who was deleted.</summary>
/// <param name="Times">By person, and by their beginning.</param>
/// <param name="FreeAt">By person: their first finished free download.</param>
internal sealed record MemberRows(IReadOnlyList<MemberRows.Time> Times, IReadOnlyDictionary<long, long> FreeAt)
{
    internal readonly record struct Time(long PersonId, Membered Is);

    /// <param name="db">Where to read.</param>
    /// <param name="only">This person alone; null: everybody.</param>
    /// <param name="now">What begins later is not read.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public static async Task<MemberRows> LoadAsync(ShelfDb db, long? only, DateTimeOffset now, CancellationToken cancellationToken)
    {
        // Few are none of it, so they are asked once and not with each row.
        var none = (await db.Users.Where(p => p.IsMaker || p.DeletedAt != null).Select(p => p.Id).ToListAsync(cancellationToken)).ToHashSet();
        var times = new List<Time>();
        await foreach (var m in db.PaidMemberships.Where(m => m.StartedAt <= now && m.ActiveUntil > m.StartedAt && (only == null || m.PersonId == only))
            .Select(m => new { m.PersonId, m.StartedAt, m.ActiveUntil }).AsAsyncEnumerable().WithCancellation(cancellationToken))
            times.Add(new(m.PersonId, new(Ms(m.StartedAt), Ms(m.ActiveUntil), IsPaid: true)));
        await foreach (var g in db.MembershipGrants.Where(g => g.From <= now && (g.Until == null || g.Until > g.From) && (only == null || g.PersonId == only))
            .Select(g => new { g.PersonId, g.From, g.Until }).AsAsyncEnumerable().WithCancellation(cancellationToken))
            times.Add(new(g.PersonId, new(Ms(g.From), g.Until is { } until ? Ms(until) : long.MaxValue, IsPaid: false)));
        times.RemoveAll(t => none.Contains(t.PersonId));
        times.Sort((one, other) => one.PersonId != other.PersonId ? one.PersonId.CompareTo(other.PersonId) : one.Is.From.CompareTo(other.Is.From));
        var free = await db.PersonFirsts.Where(f => only == null || f.PersonId == only).AsNoTracking().ToListAsync(cancellationToken);
        return new(times, free.Where(f => !none.Contains(f.PersonId)).ToDictionary(f => f.PersonId, f => Ms(f.FreeAt)));
    }

    /// <summary>Of all that is here.</summary>
    public DateTimeOffset? First => Times.Count + FreeAt.Count == 0 ? null
        : DateTimeOffset.FromUnixTimeMilliseconds(Math.Min(Times.Count == 0 ? long.MaxValue : Times.Min(t => t.Is.From), FreeAt.Count == 0 ? long.MaxValue : FreeAt.Values.Min()));

    /// <summary>How many are members at an instant, those who pay and those who were given it alone.</summary>
    public (int Paying, int Given) At(DateTimeOffset instant)
    {
        var at = Ms(instant);
        var (paying, members) = (new HashSet<long>(), new HashSet<long>());
        foreach (var time in Times)
        {
            if (time.Is.From > at || at >= time.Is.Until) continue;
            members.Add(time.PersonId);
            if (time.Is.IsPaid) paying.Add(time.PersonId);
        }
        return (paying.Count, members.Count - paying.Count);
    }

    public void AddTo(MemberTotals totals)
    {
        Span<Membered> all = Times.Select(t => t.Is).ToArray();
        var members = new HashSet<long>();
        for (var from = 0; from < Times.Count;)
        {
            var person = Times[from].PersonId;
            var to = from + 1;
            while (to < Times.Count && Times[to].PersonId == person) to++;
            totals.Add(all[from..to], FreeAt.TryGetValue(person, out var free) ? free : null);
            members.Add(person);
            from = to;
        }
        foreach (var (person, free) in FreeAt)
            if (!members.Contains(person))
                totals.Add([], free);
    }

    private static long Ms(DateTimeOffset at) => at.ToUnixTimeMilliseconds();
}

/// <summary>
/// Somebody is being deleted: what they count for stays in sums that name nobody, as it stands at that moment, and with that moment they have left.
/// </summary>
internal static class KeepCounts
{
    /// <summary>In the caller's transaction, before the person's rows go; written at once.</summary>
    public static async Task OfAsync(ShelfDb db, long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var zone = await MarkDays.ZoneAsync(db, cancellationToken);
        var rows = await MemberRows.LoadAsync(db, personId, now, cancellationToken);
        var end = now.ToUnixTimeMilliseconds();
        rows = rows with { Times = [.. rows.Times.Select(t => t with { Is = t.Is with { Until = Math.Min(t.Is.Until, end) } }).Where(t => t.Is.From < t.Is.Until)] };
        var totals = new MemberTotals(new ShopCalendar(zone, rows.First ?? now, now), now);
        rows.AddTo(totals);
        var failed = await db.FailedRenewals.Where(r => db.PaidMemberships.Any(m => m.Id == r.PaidMembershipId && m.PersonId == personId)).ToListAsync(cancellationToken);
        db.FailedRenewals.RemoveRange(failed);
        await AddAsync(db, totals.Entries().Concat(FailedCounts.Of(failed, zone)).Concat(await DropsAsync(db, personId, rows, cancellationToken)), cancellationToken);
        await db.PersonFirsts.Where(f => f.PersonId == personId).ExecuteDeleteAsync(cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
    }

    /// <summary>What they took of drops; those are rolled up again without them.</summary>
    private static async Task<List<KeptCount>> DropsAsync(ShelfDb db, long personId, MemberRows rows, CancellationToken cancellationToken)
    {
        var counts = new List<KeptCount>();
        // No drop that went out before they were or had anything is theirs.
        var opened = await db.PaidMonths.Where(m => m.PersonId == personId).MinAsync(m => (DateTimeOffset?)m.OpensAt, cancellationToken);
        var joined = rows.Times.Count == 0 ? opened : DateTimeOffset.FromUnixTimeMilliseconds(rows.Times[0].Is.From);
        if ((opened < joined ? opened : joined) is not { } first)
            return counts;
        foreach (var drop in await db.Drops.AsNoTracking().Where(d => d.State == Drops.DropState.Sent && d.SentAt >= first).ToListAsync(cancellationToken))
        {
            if (!(await DropTaking.OfAsync(db, drop, personId, cancellationToken)).TryGetValue(personId, out var taken))
                continue;
            counts.Add(new() { Figure = MemberFigure.DropHolders, Month = drop.Month, Count = 1 });
            counts.AddRange(DropUptake.Days.Append(0).Where(days => RollUpDrops.IsWithin(drop, taken, days)).Select(days => new KeptCount { Figure = MemberFigure.DropTakers, Month = drop.Month, N = days, Count = 1 }));
            await db.DropUptakes.Where(u => u.DropId == drop.Id).ExecuteUpdateAsync(s => s.SetProperty(u => u.Changed, u => u.Changed + 1), cancellationToken);
        }
        return counts;
    }

    private static async Task AddAsync(ShelfDb db, IEnumerable<KeptCount> counts, CancellationToken cancellationToken)
    {
        // All at once: a few thousand small rows at most, and nobody else may write meanwhile.
        var all = await db.KeptCounts.ToDictionaryAsync(c => (c.Figure, c.Month, c.N, c.IsPaid), cancellationToken);
        foreach (var one in counts)
        {
            if (all.TryGetValue((one.Figure, one.Month, one.N, one.IsPaid), out var kept))
                kept.Count += one.Count;
            else
                db.KeptCounts.Add(one);
        }
    }
}

/// <summary>Renewals that failed, by the month in which they did.</summary>
internal static class FailedCounts
{
    /// <summary>The maker's own membership is no member's, as it is no income either.</summary>
    public static IQueryable<Payments.FailedRenewal> OfMembers(ShelfDb db) =>
        db.FailedRenewals.AsNoTracking().Where(r => !db.PaidMemberships.Any(m => m.Id == r.PaidMembershipId && db.Users.Any(u => u.Id == m.PersonId && u.IsMaker)));

    public static IEnumerable<KeptCount> Of(IEnumerable<Payments.FailedRenewal> failed, DateTimeZone zone) =>
        from renewal in failed
        group renewal by Instant.FromDateTimeOffset(renewal.Since).InZone(zone).Date.ToYearMonth() into month
        from count in new[]
        {
            new KeptCount { Figure = MemberFigure.Failed, Month = month.Key, IsPaid = true, Count = month.Count() },
            new KeptCount { Figure = MemberFigure.Recovered, Month = month.Key, IsPaid = true, Count = month.Count(r => r.RecoveredAt is not null) },
        }
        where count.Count > 0
        select count;
}

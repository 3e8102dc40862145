using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>A version that could be put into a drop.</summary>
public sealed record DropCandidate(long ReleaseId, string Library, string Number, ReleaseState State);

/// <summary>One month at the workbench, with what can be done about it.</summary>
/// <param name="Month">Its state and what it lacks.</param>
/// <param name="Form">The plan as it stands, or as it usually would be.</param>
/// <param name="Revision">Of the drop; null: the month has none.</param>
/// <param name="Candidates">Not published, in no drop, of libraries that have no version in this one; by title.</param>
/// <param name="FreeMonths">To which it can be moved.</param>
/// <param name="Told">How many letters about it were written.</param>
/// <param name="SlipTold">How many about the last telling that it slips were written, and how many of these are sent.</param>
/// <param name="IsCredited">The month was credited to those who paid for it.</param>
/// <param name="MaySlip">Its members expect it: it is this month's, the next one's, or one of the last twelve, and is not out.</param>
/// <param name="IsHeld">The shelf was restored and is quiet.</param>
/// <param name="Now">The instant all of this is told of.</param>
public sealed record DropPage(
    DropMonth Month, DropForm Form, int? Revision, IReadOnlyList<DropCandidate> Candidates, IReadOnlyList<YearMonth> FreeMonths, int Told, (int Written, int Sent) SlipTold, bool IsCredited, bool MaySlip, bool IsHeld, DateTimeOffset Now)
{
    /// <summary>No postal address is set, which every letter to members has to carry. The drop goes out all the same.</summary>
    public bool LacksPostalAddress { get; init; }
}

/// <summary>Reads one month's drop for the workbench.</summary>
public sealed class ReadDrop(ShelfDb db, TimeProvider clock)
{
    public async Task<DropPage> RunAsync(YearMonth month, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken) ?? new Shop();
        var drop = await db.Drops.AsNoTracking().SingleOrDefaultAsync(d => d.Month == month, cancellationToken);
        var versions = drop is null ? [] : (await DropVersions.LoadAsync(db, [drop.Id], now, cancellationToken))[drop.Id].ToList();
        var boxes = await MonthRows.LoadAsync(db, cancellationToken);
        var thisMonth = DropWhen.MonthAt(now, ReadShop.ZoneOf(shop.TimeZone));
        return new DropPage(
            MonthRows.Month(month, drop, versions, boxes.GetValueOrDefault(month, []), shop),
            drop is null ? new DropForm("", "", shop.DropDay, shop.DropTime, shop.TimeZone) : DropForm.Of(drop), drop?.Revision,
            drop is { State: DropState.Planned } ? await CandidatesAsync(drop.Id, cancellationToken) : [],
            drop is { State: DropState.Planned } ? await FreeMonthsAsync(thisMonth, cancellationToken) : [],
            drop is null ? 0 : (await ToldAsync($"drop:{drop.Id}:", "", cancellationToken)).Written,
            drop?.SlippedAt is null ? (0, 0) : await ToldAsync($"slip:{drop.Id}:", ":" + drop.SlipMark, cancellationToken),
            await db.MonthCredits.AnyAsync(c => c.Month == month, cancellationToken),
            drop?.State != DropState.Sent && month >= thisMonth.PlusMonths(-DropWhen.MonthsBack) && month <= thisMonth.PlusMonths(1), shop.HeldSince is not null, now) { LacksPostalAddress = string.IsNullOrWhiteSpace(shop.PostalAddress) };
    }

    private async Task<List<DropCandidate>> CandidatesAsync(long dropId, CancellationToken cancellationToken)
    {
        var rows = await db.Releases
            .Where(r => (r.State == ReleaseState.Draft || r.State == ReleaseState.Checked || r.State == ReleaseState.Sealed || r.State == ReleaseState.Early)
                && !db.DropReleases.Any(d => d.ReleaseId == r.Id)
                && !db.DropReleases.Any(d => d.DropId == dropId && db.Releases.Any(o => o.Id == d.ReleaseId && o.LibraryId == r.LibraryId)))
            .Select(r => new DropCandidate(r.Id, r.Library.Title, r.Number, r.State)).ToListAsync(cancellationToken);
        return [.. rows.OrderBy(r => r.Library, StringComparer.OrdinalIgnoreCase).ThenByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)];
    }

    private async Task<List<YearMonth>> FreeMonthsAsync(YearMonth first, CancellationToken cancellationToken)
    {
        var taken = (await db.Drops.Where(d => d.State != DropState.Cancelled || d.SlippedAt != null).Select(d => d.Month).ToListAsync(cancellationToken)).ToHashSet();
        return [.. Enumerable.Range(0, ReadDrops.MonthsShown + 1).Select(first.PlusMonths).Where(m => !taken.Contains(m))];
    }

    private async Task<(int Written, int Sent)> ToldAsync(string begins, string ends, CancellationToken cancellationToken)
    {
        var letters = db.Outbox.Where(m => m.Cause.StartsWith(begins) && m.Cause.EndsWith(ends));
        return (await letters.CountAsync(cancellationToken), await letters.CountAsync(m => m.SentAt != null, cancellationToken));
    }
}

using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <summary>A plan with how many pay by it now.</summary>
public sealed record PlanLine(Plan Plan, int Members);

/// <summary>What the maker has set for joining.</summary>
public sealed record JoinTerms(string Currency, string ConsentWords, string ButtonWords, string TermsVersion, AfterLeaving AfterLeaving, IReadOnlyList<PlanLine> Plans);

public sealed class ReadJoinTerms(ShelfDb db, TimeProvider clock)
{
    public async Task<JoinTerms> RunAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().SingleAsync(cancellationToken);
        var plans = await db.Plans.AsNoTracking().OrderBy(p => p.ClosedAt != null).ThenBy(p => p.Months).ThenBy(p => p.Minor)
            .Select(p => new PlanLine(p, db.PaidMemberships.Count(m => m.PlanId == p.Id && m.ActiveUntil > now))).ToListAsync(cancellationToken);
        return new(shop.Currency, shop.ConsentWords, shop.ButtonWords, shop.TermsVersion, shop.AfterLeaving, plans);
    }
}

/// <summary>The words people agree to, and what they keep. It holds for who joins from now on; who joined before keeps the kinder of both.</summary>
public sealed class EditJoinTerms(ShelfDb db)
{
    private const int LongestWords = 1_000;
    private const int LongestVersion = 100;
    private const int LongestButton = 60;

    /// <returns>What is too long, by field; then nothing was written. Empty: it was.</returns>
    public async Task<IReadOnlyList<Refusal>> RunAsync(string? consentWords, string? buttonWords, string? termsVersion, AfterLeaving afterLeaving, CancellationToken cancellationToken)
    {
        var (words, version) = ((consentWords ?? "").Trim().ReplaceLineEndings(" "), (termsVersion ?? "").Trim());
        var button = (buttonWords ?? "").Trim().ReplaceLineEndings(" ");
        List<Refusal> refused = [.. new[] { ("ConsentWords", words, LongestWords), ("ButtonWords", button, LongestButton), ("TermsVersion", version, LongestVersion) }
            .Where(f => f.Item2.Length > f.Item3).Select(f => new Refusal(f.Item1, T($"These are {f.Item2.Length:N0} letters, and {f.Item3:N0} are the most. Shorten them.")))];
        if (refused.Count > 0)
            return refused;
        await db.Shops.ExecuteUpdateAsync(
            s => s.SetProperty(x => x.ConsentWords, words).SetProperty(x => x.ButtonWords, button).SetProperty(x => x.TermsVersion, version).SetProperty(x => x.AfterLeaving, afterLeaving),
            cancellationToken);
        return [];
    }
}

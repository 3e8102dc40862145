using LibraryShelf.Core.Data;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>What happens once people have fetched versions: they tell of faults, and a version is taken back, with the mails of that day.</summary>
internal sealed class SeedAfterwards(Steps steps, SettableClock clock)
{
    public async Task RunAsync(ShopRecipe shop, Days days, CancellationToken cancellationToken)
    {
        var slugs = shop.Libraries.Select(l => l.Slug).ToHashSet(StringComparer.Ordinal);
        foreach (var told in shop.Told.Where(t => slugs.Contains(t.Library)).OrderByDescending(t => t.DaysAgo))
            await TellAsync(told, days, cancellationToken);
        foreach (var withdrawn in shop.Withdrawn.Where(w => slugs.Contains(w.Library)).OrderByDescending(w => w.DaysAgo))
            await WithdrawAsync(withdrawn, days, cancellationToken);
        await steps.TakeAsync<SendOutbox, OutboxRound>(v => v.RunAsync(cancellationToken));
    }

    private async Task TellAsync(ToldRecipe told, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(told.DaysAgo);
        var release = await ReleaseAsync(told.Library, told.Number, cancellationToken);
        var person = await steps.TakeAsync<ShelfDb, long?>(
            db => db.Users.Where(p => p.Email == told.By).Select(p => (long?)p.Id).FirstOrDefaultAsync(cancellationToken));
        await steps.MustAsync<ReportFault, ReportFaultOutcome.Reported>($"tell of {told.Library}", async v => await v.RunAsync(
            told.Library, new ToldFault(release, told.Key, null, told.Words), person, cancellationToken));
    }

    private async Task WithdrawAsync(WithdrawnVersion withdrawn, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(withdrawn.DaysAgo);
        var release = await ReleaseAsync(withdrawn.Library, withdrawn.Number, cancellationToken);
        await steps.MustAsync<WithdrawRelease, WithdrawReleaseOutcome.Withdrawn>(
            $"withdraw {withdrawn.Library} {withdrawn.Number}",
            async v => await v.RunAsync(release, withdrawn.Because, shelfAddress: null, cancellationToken));
        await steps.TakeAsync<TellPeople, int>(v => v.RunAsync(release, shelfAddress: null, cancellationToken));
    }

    private Task<long> ReleaseAsync(string slug, string number, CancellationToken cancellationToken) => steps.TakeAsync<ShelfDb, long>(
        db => db.Releases.Where(r => r.Library.Slug == slug && r.Number == number).Select(r => r.Id).SingleAsync(cancellationToken));
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>The months' drops: those that went out, on their day, and those that are planned.</summary>
internal sealed class SeedDrops(Steps steps, SettableClock clock)
{
    /// <summary>A version that is sealed goes out at this minute with a drop of its own.</summary>
    /// <returns>False: the month has had one already, as the days of the recipes may fall, so this one has to be published by hand.</returns>
    public async Task<bool> SendAsync(DropRecipe recipe, long releaseId, DateTimeOffset at, CancellationToken cancellationToken)
    {
        var shop = await ShopAsync(cancellationToken);
        var wall = at.ToInstant().InZone(ReadShop.ZoneOf(shop.TimeZone)).LocalDateTime;
        var month = wall.Date.ToYearMonth();
        if (await steps.TakeAsync<ShelfDb, bool>(db => db.Drops.AnyAsync(d => d.Month == month, cancellationToken)))
            return false;
        await PlanAsync(month, recipe, new DropDay.Numbered(wall.Day).ToString(), wall.TimeOfDay.ToString("HH:mm", null), shop, cancellationToken);
        await FillAsync(month, releaseId, cancellationToken);
        clock.Now = at;
        var id = await steps.TakeAsync<ShelfDb, long>(db => db.Drops.Where(d => d.Month == month).Select(d => d.Id).SingleAsync(cancellationToken));
        await steps.MustAsync<SendDrop, SendDropOutcome.Sent>($"send the drop of {month}", async v => await v.RunAsync(id, shelfAddress: null, cancellationToken));
        await steps.TakeAsync<TellPeople, int>(v => v.RunAsync(releaseId, shelfAddress: null, cancellationToken));
        // On that day: who has left since is not written to later.
        await steps.TakeAsync<SendOutbox, OutboxRound>(v => v.RunAsync(cancellationToken));
        return true;
    }

    /// <summary>What is planned for the months ahead.</summary>
    public async Task PlanAsync(ShopRecipe recipes, DateTimeOffset now, CancellationToken cancellationToken)
    {
        clock.Now = now;
        var shop = await ShopAsync(cancellationToken);
        foreach (var recipe in recipes.Drops.Where(d => d.MonthsAhead is not null))
        {
            var month = now.ToInstant().InZone(ReadShop.ZoneOf(shop.TimeZone)).Date.ToYearMonth().PlusMonths(recipe.MonthsAhead!.Value);
            await PlanAsync(month, recipe, shop.DropDay, shop.DropTime, shop, cancellationToken);
            foreach (var version in recipe.Versions.Where(v => recipes.Libraries.Any(l => l.Slug == v.Library)))
                await FillAsync(month, await steps.TakeAsync<ShelfDb, long>(
                    db => db.Releases.Where(r => r.Library.Slug == version.Library && r.Number == version.Number).Select(r => r.Id).SingleAsync(cancellationToken)), cancellationToken);
        }
    }

    private Task<Shop> ShopAsync(CancellationToken cancellationToken) => steps.TakeAsync<ShelfDb, Shop>(db => db.Shops.AsNoTracking().SingleAsync(cancellationToken));

    private Task<DropOutcome.Done> PlanAsync(YearMonth month, DropRecipe recipe, string day, string time, Shop shop, CancellationToken cancellationToken) =>
        steps.MustAsync<PlanDrop, DropOutcome.Done>($"plan {month}", async v => await v.RunAsync(month, new DropForm(recipe.Title, recipe.Note, day, time, shop.TimeZone), null, cancellationToken));

    private Task<DropOutcome.Done> FillAsync(YearMonth month, long releaseId, CancellationToken cancellationToken) =>
        steps.MustAsync<FillDrop, DropOutcome.Done>($"fill {month}", async v => await v.RunAsync(month, releaseId, isIn: true, cancellationToken));
}

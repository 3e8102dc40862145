using System.Threading.Channels;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>
/// Fills an empty shelf with the practice shop: everything that stands there got there by the steps a maker takes, on the day
/// the recipe says. While one version is sent and checked, the next one's recordings are made.
/// </summary>
internal sealed class SeedShelf(Steps steps, SettableClock clock, DataPaths paths, TextWriter output)
{
    private const int PreparedAhead = 1;
    /// <summary>Boxes get their place on the workbench this many days before their first version.</summary>
    private const int AddedBefore = 4;

    public async Task RunAsync(ShopRecipe shop, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var days = new Days(now);
        await new SeedShop(steps, clock).RunAsync(shop, days.Ago(shop.OpenedDaysAgo), cancellationToken);
        await new SeedMembers(steps, clock).RunAsync(shop, days, cancellationToken);
        foreach (var library in shop.Libraries)
            await AddAsync(library, days, cancellationToken);
        await BringAllAsync(shop, days, cancellationToken);
        await new SeedDownloads(steps).RunAsync(shop, now, cancellationToken);
        await new SeedAfterwards(steps, clock).RunAsync(shop, days, cancellationToken);
        await new SeedDrops(steps, clock).PlanAsync(shop, now, cancellationToken);
        await new SeedPayers(steps, paths).RunAsync(shop, now, cancellationToken);
        await new SeedSightings(steps, clock).RunAsync(shop, days, cancellationToken);
    }

    private async Task AddAsync(LibraryRecipe library, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(library.Versions[0].DaysAgo + AddedBefore);
        await steps.MustAsync<AddLibrary, AddLibraryOutcome.Added>($"add {library.Title}", async v => await v.RunAsync(
            new LibraryWords(library.Title, library.Sentence, library.Description, library.Sound, library.IsPitched, library.Paint),
            library.Slug, cancellationToken));
    }

    private async Task BringAllAsync(ShopRecipe shop, Days days, CancellationToken cancellationToken)
    {
        var order = shop.Libraries.SelectMany(l => l.Versions.Select(v => (Library: l, Version: v)))
            .OrderByDescending(x => x.Version.DaysAgo).ToList();
        var prepared = Channel.CreateBounded<PreparedRelease>(PreparedAhead);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        var making = Task.Run(() => MakeAllAsync(order, prepared.Writer, stop.Token), stop.Token);
        try
        {
            await BringAsync(shop, days, order.Count, prepared.Reader, stop.Token);
        }
        finally
        {
            await stop.CancelAsync();
        }
        await making;
    }

    private static async Task MakeAllAsync(
        List<(LibraryRecipe Library, VersionRecipe Version)> order, ChannelWriter<PreparedRelease> prepared, CancellationToken cancellationToken)
    {
        try
        {
            var maker = new FolderMaker();
            foreach (var (library, version) in order)
                await prepared.WriteAsync(maker.Make(library, version), cancellationToken);
            prepared.Complete();
        }
        catch (Exception fault)
        {
            prepared.Complete(fault);
            throw;
        }
    }

    private async Task BringAsync(
        ShopRecipe shop, Days days, int total, ChannelReader<PreparedRelease> prepared, CancellationToken cancellationToken)
    {
        var decisions = new Queue<(LibraryRecipe Library, LaterDecision Decision)>(shop.Libraries
            .SelectMany(l => l.Decisions.Select(d => (l, d))).OrderByDescending(x => x.d.DaysAgo));
        var release = new SeedRelease(steps, clock);
        var done = 0;
        await foreach (var one in prepared.ReadAllAsync(cancellationToken))
        {
            while (decisions.TryPeek(out var next) && next.Decision.DaysAgo > one.Version.DaysAgo)
            {
                decisions.Dequeue();
                await DecideAsync(next.Library, next.Decision, days, cancellationToken);
            }
            await release.RunAsync(one, shop.Drops.FirstOrDefault(d => d.MonthsAhead is null && d.Has(one.Library.Slug, one.Version.Number)), days.Ago(one.Version.DaysAgo), cancellationToken);
            done++;
            if (done % 5 == 0 || done == total)
                await output.WriteLineAsync($"  {done} of {total} versions: {one.Library.Title} {one.Version.Number}");
        }
    }

    private async Task DecideAsync(LibraryRecipe library, LaterDecision decision, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(decision.DaysAgo);
        var outcome = await steps.TakeAsync<DecideAudience, DecideAudienceOutcome>(
            v => v.RunAsync(library.Slug, decision.Audience, cancellationToken));
        if (outcome != DecideAudienceOutcome.Decided)
            throw new InvalidOperationException($"The practice shop could not decide who {library.Title} is for: {outcome}");
    }
}

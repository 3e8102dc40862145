using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Writes the invented past of downloads as rows and events, and has it counted as any other.</summary>
internal sealed class SeedDownloads(Steps steps)
{
    private const int Days = 60;

    public async Task RunAsync(ShopRecipe shop, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var shelf = await steps.TakeAsync<ShelfDb, List<ShelvedRelease>>(db => ShelfAsync(db, cancellationToken));
        var people = await steps.TakeAsync<ShelfDb, List<KnownPerson>>(db => PeopleAsync(db, cancellationToken));
        var past = new DownloadPast(shelf, people);
        foreach (var copy in shop.KeptCopies)
        {
            past.AddWhole(
                shelf.Single(s => s.Library.Slug == copy.Library && s.Release.Number == copy.Number),
                people.Single(p => p.Email == copy.Email),
                now.AddDays(-copy.DaysAgo));
        }
        past.Invent(now, Days);
        await ListenAsync(shop, past, shelf, now, cancellationToken);
        await steps.TakeAsync<ShelfDb, int>(db => WriteAsync(db, past.Downloads, cancellationToken));
        var events = past.Events.OrderBy(e => e.At).ToList();
        await steps.TakeAsync<RecordEvents, int>(async v =>
        {
            await v.RunAsync(events, cancellationToken);
            return events.Count;
        });
        await steps.TakeAsync<CountDownloads, int>(v => v.RunAsync(cancellationToken));
        await steps.TakeAsync<RollUpDays, int>(v => v.RunAsync(cancellationToken));
        while (!await steps.TakeAsync<RollUpVersions, bool>(v => v.RunAsync(cancellationToken))) { }
    }

    /// <summary>Who signs in for what is free. A box of which a version is taken back later is left out: each of them would be written to.</summary>
    private async Task ListenAsync(ShopRecipe shop, DownloadPast past, List<ShelvedRelease> shelf, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var people = await steps.TakeAsync<ShelfDb, List<Person>>(async db =>
        {
            var listeners = ListenersPast.People(now);
            db.Users.AddRange(listeners);
            await db.SaveChangesAsync(cancellationToken);
            return listeners;
        });
        var listened = shelf.Where(s => !shop.Withdrawn.Any(w => w.Library == s.Library.Slug)).ToList();
        foreach (var (release, person, at) in new ListenersPast().Fetched([.. people.Select(p => (new KnownPerson(p.Id, p.Email!, [], DateTimeZone.Utc), p.CreatedAt))], listened, now))
            past.AddWhole(release, person, at);
    }

    private static async Task<List<ShelvedRelease>> ShelfAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var archives = await db.Archives.AsNoTracking().Where(a => a.Kind == ArchiveKind.Full).ToListAsync(cancellationToken);
        var releases = await db.Releases.AsNoTracking().Where(r => r.State == ReleaseState.Published)
            .Include(r => r.Players).Include(r => r.Library).ThenInclude(l => l.Audiences).OrderBy(r => r.Id).ToListAsync(cancellationToken);
        return [.. releases.Join(archives, r => r.Id, a => a.ReleaseId, (r, a) => new ShelvedRelease(r, r.Library, a.Id, a.Length))];
    }

    private static async Task<List<KnownPerson>> PeopleAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var grants = (await db.MembershipGrants.AsNoTracking().ToListAsync(cancellationToken)).ToLookup(g => g.PersonId);
        var people = await db.Users.AsNoTracking().Where(p => !p.IsMaker).OrderBy(p => p.Id).ToListAsync(cancellationToken);
        var zone = DateTimeZoneProviders.Tzdb[await db.Shops.Select(s => s.TimeZone).SingleAsync(cancellationToken)];
        return people.ConvertAll(p => new KnownPerson(p.Id, p.Email!, [.. grants[p.Id]], zone));
    }

    private static async Task<int> WriteAsync(ShelfDb db, List<Download> downloads, CancellationToken cancellationToken)
    {
        db.Downloads.AddRange(downloads);
        return await db.SaveChangesAsync(cancellationToken);
    }
}

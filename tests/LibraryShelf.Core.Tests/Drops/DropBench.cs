using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>A shelf with libraries whose versions stand in drops, and members to write to; verbs on fresh databases.</summary>
internal sealed class DropBench(TempShelf shelf) : IAsyncDisposable
{
    public static readonly YearMonth December = new(2026, 12);

    public TempShelf Shelf { get; } = shelf;
    public ShelfSettings Settings { get; } = new();
    public DateTimeOffset Now => Shelf.Clock.GetUtcNow();

    public static async Task<DropBench> MakeAsync()
    {
        var bench = new DropBench(await TempShelf.MakeAsync());
        await bench.WithAsync(db =>
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", ClaimedAt = bench.Now });
            return db.SaveChangesAsync();
        });
        return bench;
    }

    public async Task<T> WithAsync<T>(Func<ShelfDb, Task<T>> use)
    {
        await using var db = Shelf.Open();
        return await use(db);
    }

    public Task<long> LibraryAsync(string title, bool isDeclared = true) => WithAsync(async db =>
    {
        var library = new Library { Slug = title.ToLowerInvariant().Replace(' ', '-'), Title = title, CreatedAt = Now, DeclaredAt = isDeclared ? Now : null };
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        return library.Id;
    });

    public Task<long> ReleaseAsync(long libraryId, string number, ReleaseState state = ReleaseState.Scheduled) => WithAsync(async db =>
    {
        var release = new Release { LibraryId = libraryId, Number = number, CreatedAt = Now };
        ReleaseState[] way = [ReleaseState.Checked, ReleaseState.Sealed, .. state > ReleaseState.Sealed ? [state] : Array.Empty<ReleaseState>()];
        foreach (var step in way.TakeWhile(s => s <= state))
            Assert.True(release.MoveTo(step, Now));
        release.TellAskedAt = null;
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        return release.Id;
    });

    /// <summary>A new library with one version.</summary>
    public async Task<long> NewAsync(string title, ReleaseState state = ReleaseState.Scheduled) => await ReleaseAsync(await LibraryAsync(title), "1.0.0", state);

    /// <summary>Due now unless told otherwise.</summary>
    public Task<long> DropAsync(YearMonth month, TimeSpan dueIn, params long[] releases) => WithAsync(async db =>
    {
        var drop = new Drop { Month = month, Title = "Salt and reeds", DueAt = Now + dueIn, CreatedAt = Now };
        db.Drops.Add(drop);
        await db.SaveChangesAsync();
        db.DropReleases.AddRange(releases.Select((r, n) => new DropRelease { DropId = drop.Id, ReleaseId = r, Place = n }));
        await db.SaveChangesAsync();
        return drop.Id;
    });

    /// <summary>Somebody with a membership given from now until a day, or without an end.</summary>
    public Task<long> MemberAsync(string email, TimeSpan? lasts = null) => WithAsync(async db =>
    {
        var person = await Accounts.TestPeople.FindOrAddAsync(db, email, Now);
        db.MembershipGrants.Add(new MembershipGrant { PersonId = person.Id, From = Now, Until = lasts is null ? null : Now + lasts });
        await db.SaveChangesAsync();
        return person.Id;
    });

    public Task<SendDropOutcome> SendAsync(long dropId) => WithAsync(db => new SendDrop(db, Shelf.Clock, Options.Create(Settings)).RunAsync(dropId, "https://shelf.example", default));

    public async Task<SendDropOutcome.Sent> SentAsync(long dropId) => Assert.IsType<SendDropOutcome.Sent>(await SendAsync(dropId));

    public Task<Drop> ReadAsync(long dropId) => WithAsync(db => db.Drops.SingleAsync(d => d.Id == dropId));

    public Task<Release> ReadReleaseAsync(long id) => WithAsync(db => db.Releases.Include(r => r.Library).ThenInclude(l => l.Audiences).SingleAsync(r => r.Id == id));

    public Task<List<OutboxMail>> MailsAsync() => WithAsync(db => db.Outbox.AsNoTracking().OrderBy(m => m.PersonId).ToListAsync());

    public Task<MayDownloadWhy> RightsAsync(long releaseId, long? person) => WithAsync(db => new ReadRights(db, Shelf.Clock).RunAsync(releaseId, person, default));

    public ValueTask DisposeAsync() => Shelf.DisposeAsync();
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Sealing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Publishing;

/// <summary>A library with versions that go out and come back, people who fetch them, and the mails written meanwhile.</summary>
internal sealed class OutBench : IAsyncDisposable
{
    public const string Address = "https://shelf.example";

    private OutBench(SealBench bench) => Bench = bench;

    public SealBench Bench { get; }

    public static async Task<OutBench> MakeAsync()
    {
        var bench = new OutBench(await SealBench.MakeAsync());
        await bench.WithAsync(db =>
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", PostalAddress = "The Old Net Loft" });
            return db.SaveChangesAsync();
        });
        return bench;
    }

    public async Task<T> WithAsync<T>(Func<ShelfDb, Task<T>> use)
    {
        await using var db = Bench.Shelf.Open();
        return await use(db);
    }

    public async Task<long> SealedAsync(string number)
    {
        // What stays the same from version to version is what an update saves.
        var id = await Bench.CheckedAsync(number, ("a.wav", number), ("kept.txt", new string('k', 4096)));
        await Bench.SealedAsync(id);
        return id;
    }

    public async Task<long> PublishedAsync(string number, Audience audience = Audience.Free)
    {
        var id = await SealedAsync(number);
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(id, audience));
        return id;
    }

    /// <summary>With the telling.</summary>
    public async Task<PublishReleaseOutcome> PublishAsync(long id, Audience audience = Audience.Free)
    {
        Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        var outcome = await WithAsync(db => new PublishRelease(db, Bench.Shelf.Clock).RunAsync(id, audience, declares: false, Address, default));
        await TellAsync(id);
        return outcome;
    }

    /// <summary>With the telling.</summary>
    public async Task<WithdrawReleaseOutcome> WithdrawAsync(long id, string? reason = "The tin rattles.")
    {
        var outcome = await WithdrawSilentlyAsync(id, reason);
        await TellAsync(id);
        return outcome;
    }

    public Task<WithdrawReleaseOutcome> WithdrawSilentlyAsync(long id, string? reason = "The tin rattles.")
    {
        Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        return WithAsync(db => new WithdrawRelease(db, Bench.Shelf.Clock).RunAsync(id, reason, Address, default));
    }

    /// <summary>As the jobs do: what this wakes of other versions too.</summary>
    public async Task TellAsync(long id)
    {
        await WithAsync(db => new TellPeople(db, Bench.Shelf.Clock).RunAsync(id, shelfAddress: null, default));
        foreach (var other in await WithAsync(db => db.Releases.Where(r => r.TellAskedAt != null).Select(r => r.Id).ToListAsync()))
            await WithAsync(db => new TellPeople(db, Bench.Shelf.Clock).RunAsync(other, shelfAddress: null, default));
        Assert.False(await WithAsync(db => db.Releases.AnyAsync(r => r.TellAskedAt != null)));
    }

    public Task<ReleaseEarlyOutcome> EarlyAsync(long id, string addresses, bool declares = false) =>
        WithAsync(db => new ReleaseEarly(db, Bench.Shelf.Clock).RunAsync(id, addresses, declares, Address, default));

    /// <summary>The person, made when there is none yet.</summary>
    public Task<long> PersonAsync(string email) => WithAsync(async db =>
    {
        var person = await Accounts.TestPeople.FindOrAddAsync(db, email, Bench.Shelf.Clock.GetUtcNow());
        return person.Id;
    });

    public Task<MayDownloadWhy> RightsAsync(long id, long? personId) => WithAsync(db => new ReadRights(db, Bench.Shelf.Clock).RunAsync(id, personId, default));

    public Task<MakeLinkOutcome> LinkAsync(long id, long? personId) => WithAsync(db => new MakeLink(
        db, new ReadRights(db, Bench.Shelf.Clock), new LibraryShelf.Core.Sealing.FindUpdate(db, new LibraryShelf.Adapters.Storage.DiskBlobStore(Bench.Shelf.Paths), Bench.Shelf.Clock),
        Bench.Shelf.Clock, Options.Create(new ShelfSettings())).RunAsync(id, personId, null, default));

    /// <summary>The person makes a link and starts it.</summary>
    public async Task<MakeLinkOutcome.Made> FetchAsync(long id, long? personId)
    {
        var made = Assert.IsType<MakeLinkOutcome.Made>(await LinkAsync(id, personId));
        Assert.Null(await WithAsync(db => new StartDownload(db, Bench.Shelf.Clock).RunAsync(new() { Id = made.DownloadId }, default)));
        return made;
    }

    public Task<List<OutboxMail>> MailsAsync(string cause) =>
        WithAsync(db => db.Outbox.AsNoTracking().Where(m => m.Cause.StartsWith(cause)).OrderBy(m => m.Id).ToListAsync());

    public ValueTask DisposeAsync() => Bench.DisposeAsync();
}

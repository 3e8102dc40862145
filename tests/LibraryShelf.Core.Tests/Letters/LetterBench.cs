using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>A shelf whose letters are composed and handed to a mailer that remembers them.</summary>
internal sealed class LetterBench(OutBench bench) : IAsyncDisposable
{
    public OutBench Bench { get; } = bench;

    public FakeMailer Mailer { get; } = new();

    public ShelfSettings Settings { get; } = new() { PublicUrl = OutBench.Address + "/", Mail = new() { FromAddress = "shelf@tinworks.example" } };

    public static async Task<LetterBench> MakeAsync() => new(await OutBench.MakeAsync());

    public Task<OutboxRound> SendAsync() => Bench.WithAsync(db => new SendOutbox(
        db, Mailer, Bench.Bench.Shelf.Clock, Options.Create(Settings), NullLogger<SendOutbox>.Instance).RunAsync(default));

    /// <summary>A member by the maker's hand, since a day ago.</summary>
    public async Task<long> MemberAsync(string email)
    {
        var id = await Bench.PersonAsync(email);
        await AddAsync(new MembershipGrant { PersonId = id, From = Bench.Bench.Shelf.Clock.GetUtcNow().AddDays(-1) });
        return id;
    }

    /// <summary>Fetched to its last byte, and counted.</summary>
    public async Task FetchWholeAsync(long releaseId, long personId)
    {
        var made = await Bench.FetchAsync(releaseId, personId);
        await AddAsync(new DownloadTally { DownloadId = made.DownloadId, FinishedAt = Bench.Bench.Shelf.Clock.GetUtcNow() });
    }

    public Task UpdateAsync(long from, long to, long bytes) => AddAsync(new PossibleUpdate { FromReleaseId = from, ReleaseId = to, Bytes = bytes });

    /// <summary>The month's drop with these versions, gone out with one row a person.</summary>
    public async Task<long> SentDropAsync(IReadOnlyList<long> releases, params long[] people)
    {
        var now = Bench.Bench.Shelf.Clock.GetUtcNow();
        var drop = new Drop
        {
            Month = new YearMonth(2026, 11), Title = "Salt and\nreeds", Note = "Struck **softly**, by the [marsh](https://marsh.example).", State = DropState.Sent, SentAt = now, DueAt = now,
        };
        await AddAsync(drop);
        await AddAsync([.. releases.Select((r, i) => new DropRelease { DropId = drop.Id, ReleaseId = r, Place = i })]);
        await AddAsync([.. people.Select(p => Row($"drop:{drop.Id}:{p}", drop.Id, p))]);
        return drop.Id;
    }

    public OutboxMail Row(string cause, long about, long? personId) => new() { Cause = cause, AboutId = about, PersonId = personId, CreatedAt = Bench.Bench.Shelf.Clock.GetUtcNow() };

    public Task AddAsync(params object[] rows) => Bench.WithAsync(db =>
    {
        db.AddRange(rows);
        return db.SaveChangesAsync();
    });

    public Task<OutboxMail> RowAsync(string cause) => Bench.WithAsync(db => db.Outbox.AsNoTracking().SingleAsync(m => m.Cause == cause));

    public ValueTask DisposeAsync() => Bench.DisposeAsync();
}

using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Tests.Drops;

/// <summary>A shop in Lisbon with libraries in every state, whose maker plans months. It is 25 November 2026, 12:00 UTC.</summary>
internal sealed class PlanningShelf : IAsyncDisposable
{
    public static readonly YearMonth December = new(2026, 12);

    private PlanningShelf(TempShelf shelf) => Temp = shelf;

    public TempShelf Temp { get; }

    public static async Task<PlanningShelf> MakeAsync()
    {
        var shelf = new PlanningShelf(await TempShelf.MakeAsync());
        await shelf.WithAsync(async db =>
        {
            db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Lisbon", DropDay = "1", DropTime = "09:00" });
            return await db.SaveChangesAsync();
        });
        return shelf;
    }

    public async Task<T> WithAsync<T>(Func<ShelfDb, Task<T>> use)
    {
        await using var db = Temp.Open();
        return await use(db);
    }

    public DropForm Form(string day = "1", string time = "09:00", bool isAtOnce = false) => new("Kiln month", "Warm *bricks*.", day, time, "Europe/Lisbon", isAtOnce);

    public Task<DropOutcome> PlanAsync(YearMonth month, DropForm? form = null, int? revision = null) =>
        WithAsync(db => new PlanDrop(db, Temp.Clock).RunAsync(month, form ?? Form(), revision, default));

    public async Task PlannedAsync(YearMonth month) => Assert.IsType<DropOutcome.Done>(await PlanAsync(month));

    public Task<DropOutcome> FillAsync(YearMonth month, long release, bool isIn = true) => WithAsync(db => new FillDrop(db, Temp.Clock).RunAsync(month, release, isIn, default));

    public Task<DropOutcome> MoveAsync(YearMonth month, YearMonth to) =>
        WithAsync(async db => await new MoveDrop(db, Temp.Clock).RunAsync(month, to, (await DropAsync(month)).Revision, default));

    public Task<DropOutcome> CancelAsync(YearMonth month) => WithAsync(async db => await new CancelDrop(db, Temp.Clock).RunAsync(month, (await DropAsync(month)).Revision, default));

    public Task<Drop> DropAsync(YearMonth month) => WithAsync(db => db.Drops.AsNoTracking().SingleAsync(d => d.Month == month));

    public Task<DropMonths> MonthsAsync() => WithAsync(db => new ReadDrops(db, Temp.Clock).RunAsync(default));

    public Task<ReleaseState> StateAsync(long release) => WithAsync(db => db.Releases.Where(r => r.Id == release).Select(r => r.State).SingleAsync());

    /// <summary>A version brought to this state, of a library of that title.</summary>
    public Task<long> ReleaseAsync(string title, ReleaseState state, string number = "1.0.0", bool isDeclared = true) => WithAsync(async db =>
    {
        var now = Temp.Clock.GetUtcNow();
        var library = await db.Libraries.SingleOrDefaultAsync(l => l.Title == title) ?? new Library { Title = title, Slug = Slugs(title), DeclaredAt = isDeclared ? now : null };
        var release = new Release { Library = library, Number = number };
        foreach (var step in new[] { ReleaseState.Checked, ReleaseState.Sealed, state }.TakeWhile(_ => release.State != state))
            Assert.True(release.MoveTo(step, now));
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        return release.Id;
    });

    public ValueTask DisposeAsync() => Temp.DisposeAsync();

    private static string Slugs(string title) => title.ToLowerInvariant().Replace(' ', '-');
}

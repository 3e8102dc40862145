using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Tests.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Comparing;

/// <summary>Versions of one library, brought to where they can be compared.</summary>
internal static class CompareBench
{
    public static readonly (string, string)[] Old = [("kettle.sfz", "<region> sample=a.wav key=60"), ("a.wav", "no sound")];
    public static readonly (string, string)[] More = [.. Old, ("b.wav", "none either")];

    /// <summary>The folder sent anew and checked, at the same instant of the clock.</summary>
    public static async Task ResendAsync(SealBench bench, long id, (string Path, string Text)[] files)
    {
        await using var db = bench.Shelf.Open();
        var release = await db.Releases.Include(r => r.Files).SingleAsync(r => r.Id == id);
        release.MoveTo(ReleaseState.Draft, bench.Shelf.Clock.GetUtcNow());
        release.Files.Clear();
        await db.SaveChangesAsync();
        foreach (var (path, text) in files)
            release.Files.Add(await bench.FileAsync(db, path, text));
        release.MoveTo(ReleaseState.Checked, bench.Shelf.Clock.GetUtcNow());
        await db.SaveChangesAsync();
    }

    public static Task PublishAsync(SealBench bench, long id) => bench.ChangeAsync(id, r => r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()));

    public static async Task<(long First, long Next)> TwoAsync(SealBench bench, (string, string)[] next)
    {
        var first = await SealedAsync(bench, "1.0.0");
        return (first, await bench.CheckedAsync("1.1.0", next));
    }

    public static async Task<long> SealedAsync(SealBench bench, string number)
    {
        var id = await bench.CheckedAsync(number, Old);
        await bench.SealedAsync(id);
        return id;
    }

    public static async Task<CompareReleasesOutcome> CompareAsync(SealBench bench, long id, long fromId, IBlobStore? store = null)
    {
        await using var db = bench.Shelf.Open();
        return await new CompareReleases(db, store ?? bench.Store, bench.Shelf.Clock).RunAsync(id, fromId, CancellationToken.None);
    }

    public static async Task<StopComparisonOutcome> StopAsync(SealBench bench, long id, long fromId)
    {
        await using var db = bench.Shelf.Open();
        return await new StopComparison(db, bench.Shelf.Clock).RunAsync(id, fromId, CancellationToken.None);
    }

    public static async Task<ComparisonReading?> ReadAsync(SealBench bench, long id)
    {
        await using var db = bench.Shelf.Open();
        return await new ReadComparison(db).RunAsync(id, null, CancellationToken.None);
    }

    public static async Task<IReadOnlyList<(long, long)>> UncomparedAsync(SealBench bench)
    {
        await using var db = bench.Shelf.Open();
        var all = await new FindUncompared(db).RunAsync(CancellationToken.None);
        // Who asks about one version hears the same of it, in the same order.
        foreach (var id in await db.Releases.Select(r => r.Id).ToListAsync())
            Assert.Equal(all.Where(pair => pair.ReleaseId == id), await new FindUncompared(db).RunAsync(CancellationToken.None, id));
        return all;
    }

    public static async Task<EditOutcome> RenumberAsync(SealBench bench, long id, string number, string? why)
    {
        await using var db = bench.Shelf.Open();
        return await new RenumberRelease(db).RunAsync(id, number, why, CancellationToken.None);
    }

    public static async Task<EditOutcome> TakeAsync(SealBench bench, long id, long fromId)
    {
        await using var db = bench.Shelf.Open();
        return await new TakeDraftedChanges(db).RunAsync(id, fromId, CancellationToken.None);
    }
}

using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Intake;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class CollectBlobsTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private static readonly byte[] B = Bytes("the kettle, high");
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task What_nothing_uses_goes_after_a_week_and_not_before()
    {
        await bench.SendAsync("a.wav", A);
        await bench.SendAsync("b.wav", B);
        await bench.PlanAsync(Line("b.wav", B));
        bench.Clock.Advance(TimeSpan.FromDays(7));
        Assert.Equal(0, await CollectAsync());
        bench.Clock.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(1, await CollectAsync());
        Assert.False(bench.Store.Has(Hash(A)));
        Assert.True(bench.Store.Has(Hash(B)));
        Assert.Equal([Hash(B)], await BlobsAsync());
        Assert.Equal(Hash(A), Assert.Single(Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B))).Wanted).Sha256);
    }

    [Fact]
    public async Task Recipes_of_archives_stay()
    {
        await bench.SendAsync("a.wav", A);
        await using (var db = bench.Db())
        {
            await db.ReleaseFiles.ExecuteDeleteAsync();
            await db.BlobClaims.ExecuteDeleteAsync();
            db.Archives.Add(new Archive { ReleaseId = bench.ReleaseId, RecipeSha256 = Hash(A) });
            await db.SaveChangesAsync();
        }
        bench.Clock.Advance(TimeSpan.FromDays(30));
        Assert.Equal(0, await CollectAsync());
        Assert.True(bench.Store.Has(Hash(A)));
    }

    [Fact]
    public async Task Bytes_without_a_row_go_too_and_half_stored_ones_after_a_day()
    {
        await bench.Store.PutAsync(new MemoryStream(A), CancellationToken.None);
        var half = Path.Combine(bench.Paths.Blobs, "tmp", "left-by-a-kill");
        await File.WriteAllBytesAsync(half, B);
        File.SetLastWriteTimeUtc(half, bench.Clock.GetUtcNow().UtcDateTime);
        bench.Clock.Advance(TimeSpan.FromDays(1) + TimeSpan.FromSeconds(1));
        Assert.Equal(0, await CollectAsync());
        Assert.False(File.Exists(half));
        bench.Clock.Advance(TimeSpan.FromDays(6));
        Assert.Equal(1, await CollectAsync());
        Assert.False(bench.Store.Has(Hash(A)));
    }

    [Fact]
    public async Task Given_again_it_stays_another_week()
    {
        await bench.Store.PutAsync(new MemoryStream(A), CancellationToken.None);
        bench.Clock.Advance(TimeSpan.FromDays(6));
        await bench.Store.PutAsync(new MemoryStream(A), CancellationToken.None);
        bench.Clock.Advance(TimeSpan.FromDays(6));
        Assert.Equal(0, await CollectAsync());
        Assert.True(bench.Store.Has(Hash(A)));
    }

    /// <summary>Whatever order they come in: what the plan did not ask for is there, and what the draft lists can be read.</summary>
    [Fact]
    public async Task A_plan_beside_the_collector_never_promises_what_is_gone()
    {
        var random = new Random(20261125);
        for (var round = 0; round < 25; round++)
        {
            var files = Enumerable.Range(0, 40).Select(i => (Path: $"take {i}.wav", Data: Bytes($"round {round} take {i}"))).ToArray();
            foreach (var (path, data) in files.Take(20))
                await bench.SendAsync(path, data);
            await bench.PlanAsync(Line("other.wav", A));
            bench.Clock.Advance(TimeSpan.FromDays(8));
            await using (var db = bench.Db())
                await db.BlobClaims.ExecuteDeleteAsync();

            var lines = files.Select(f => Line(f.Path, f.Data)).OrderBy(_ => random.Next()).ToArray();
            var collecting = Task.Run(CollectAsync);
            // The same bytes by another way, at the same moment.
            var sending = Task.Run(() => bench.SendAsync("sent.wav", files[3].Data));
            var planned = Assert.IsType<PlanOutcome.Planned>(await Task.Run(() => bench.PlanAsync(lines)));
            // The plan ends uploads it does not want, so this one may have come too late, or while it was being ended.
            var sent = await sending;
            Assert.True(sent is UploadOutcome.Finished or UploadOutcome.NoSuchUpload or UploadOutcome.Busy, $"{sent}");
            await collecting;

            var wanted = planned.Wanted.Select(w => w.Sha256).ToHashSet();
            var rows = (await BlobsAsync()).ToHashSet();
            Assert.All(lines.Where(l => !wanted.Contains(l.Sha256)), l => Assert.True(rows.Contains(l.Sha256!) && bench.Store.Has(l.Sha256!), l.Path));
            Assert.All(rows, hash => Assert.True(bench.Store.Has(hash), "a row without bytes"));
        }
    }

    [Theory]
    [InlineData(5_000_000_000, 0)]
    [InlineData(4_999_999_999, 1)] // nearly full by the usual setting
    public async Task Who_discards_a_draft_on_a_nearly_full_disk_has_its_room_after_two_days(long free, int gone)
    {
        await bench.SendAsync("a.wav", A);
        await using (var db = bench.Db())
        {
            await db.ReleaseFiles.ExecuteDeleteAsync();
            await db.BlobClaims.ExecuteDeleteAsync();
        }
        bench.Free = free;
        bench.Clock.Advance(TimeSpan.FromDays(2));
        Assert.Equal(0, await CollectAsync());
        bench.Clock.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(gone, await CollectAsync());
        Assert.Equal(gone == 0, bench.Store.Has(Hash(A)));
    }

    private async Task<int> CollectAsync()
    {
        await using var db = bench.Db();
        var room = new IntakeBench.SetRoom(() => bench.Free is { } free ? new DiskRoom(1_000_000_000_000, free) : null);
        return await new CollectBlobs(db, bench.Store, room, bench.Paths, Options.Create(bench.Settings), bench.Clock).RunAsync(CancellationToken.None);
    }

    private async Task<List<string>> BlobsAsync()
    {
        await using var db = bench.Db();
        return await db.Blobs.Select(b => b.Sha256).ToListAsync();
    }
}
